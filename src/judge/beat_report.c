// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file beat_report.c
   What is reported of the beat: due times, pulse, lilt, the click, slips.
*/

#include "beat.h"
#include "main_tempo.h"
#include "score.h"

#include <math.h>

static bool
is_wait_between(const SrBeatFit* const f, const SrBeatOnset* const a, const SrBeatOnset* const b)
{
  bool waited = a->waits != b->waits;
  for (size_t t = 0; t < f->turn_count; ++t) {
    const SrTurn* const turn = &f->turns[t];
    waited = waited || (turn->kind == SR_TURN_WAIT && turn->from > a->pulses + 1e-9 &&
                        turn->from < b->pulses + 1e-9);
  }
  return waited;
}

static void
report_lilt(const SrBeatFit* const f, SrPulse* const pulse, const double pulse_s)
{
  pulse->lilt_count = 0;
  for (size_t p = 0; p < f->places; ++p) {
    if (f->place_count[p] < 2) {
      return;
    }
  }
  if (f->places < 2) {
    return;
  }
  pulse->lilt_count = f->places;
  const double even = pulse_s / (double)f->places;
  for (size_t p = 0; p < f->places; ++p) {
    const double here = p ? f->solution[SR_BEAT_FIXED + p] : 0.0;
    const double there = p + 1 < f->places ? f->solution[SR_BEAT_FIXED + p + 1] : 0.0;
    pulse->lilt[p] = (even + there - here) / even;
  }
}

/// nPVI of the steps, each divided by its written length, so that even playing gives 0.
static double
npvi_of(const SrBeatFit* const f, double* const scratch)
{
  size_t count = 0;
  for (size_t i = 1; i < f->count; ++i) {
    const SrBeatOnset* const a = &f->onsets[i - 1];
    const SrBeatOnset* const b = &f->onsets[i];
    const double pulses = b->pulses - a->pulses;
    if (pulses > 1e-9 && b->onset_s > a->onset_s && !is_wait_between(f, a, b)) {
      scratch[count++] = (b->onset_s - a->onset_s) / pulses;
    }
  }
  return sr_judge_npvi(scratch, count);
}

/**
   Mean delay of the onsets after the click, ms; NAN without a click, or if they are unrelated to
   it.

   Each onset is compared with its own click modulo whole periods, so that a player who lost the
   beat and found it again is compared with where it was found. The mean is that of directions on a
   circle (Mardia and Jupp 2000, from memory), whose length shows whether there is a relation.
*/
static double
behind_click_ms(const SrBeatFit* const f)
{
  const SrJudgeSettings* const settings = f->take->settings;
  const double period_s = settings->click_period_s;
  if (!isfinite(settings->click_s) || !(period_s > 0.0) || !(settings->click_pulses > 0.0)) {
    return (double)NAN;
  }
  const double pulse_s = period_s / settings->click_pulses;
  const SrPhraseNote* const first = sr_phrase_note(f->take->phrase, 0);
  // An inaudible lilt may be the scatter of a few notes
  const double noticeable_ms =
      sr_judge_just_noticeable_ms(1e3 * sr_score_step(f->take->phrase) * pulse_s);
  double real = 0.0;
  double imaginary = 0.0;
  double count = 0.0;
  for (size_t i = 0; i < f->count; ++i) {
    const SrBeatOnset* const onset = &f->onsets[i];
    if (onset->out) {
      continue;
    }
    const SrPhraseNote* const note = sr_phrase_note(f->take->phrase, onset->note);
    // A bar may be short of a beat, but time goes on
    const double from_bar = sr_fraction_value(first->in_bar) + sr_fraction_value(note->start);
    const double in_bar_s = from_bar / f->pulse * pulse_s;
    const double lilt_s = onset->place > 0 ? f->solution[SR_BEAT_FIXED + onset->place] : 0.0;
    const bool has_lilt = fabs(1e3 * lilt_s) > noticeable_ms;
    const double turn =
        2.0 * M_PI * (onset->onset_s - (has_lilt ? lilt_s : 0.0) - in_bar_s - settings->click_s) /
        period_s;
    real += cos(turn);
    imaginary += sin(turn);
    count += 1.0;
  }
  if (!(hypot(real, imaginary) > LEAST_RELATION * count)) {
    return (double)NAN;
  }
  return 1e3 * atan2(imaginary, real) / (2.0 * M_PI) * period_s;
}

/// Whether the click was silent at a time.
static bool
is_silent(const SrJudgeSettings* const settings, const double at_s)
{
  bool silent = false;
  for (size_t i = 0; i < settings->silence_count; ++i) {
    silent =
        silent || (at_s >= settings->silences[i].start_s && at_s < settings->silences[i].end_s);
  }
  return silent;
}

/// Whether, between two onsets, a player may have met the click again or could not hear it.
static bool
is_free_of_click(const SrBeatFit* const f, const SrCourse* const course, const SrBeatOnset* const a,
                 const SrBeatOnset* const b)
{
  const SrJudgeSettings* const settings = f->take->settings;
  return is_wait_between(f, a, b) || sr_course_is_aside(course, 0.5 * (a->pulses + b->pulses)) ||
         is_silent(settings, a->onset_s) || is_silent(settings, b->onset_s);
}

/**
   Whether the player stayed with the click, by the fitted tempo. Waits, stretches at another tempo
   and silences of the click, after which the player may have met the click again, separate the
   stretches that are tested. A player who ends one off the click by half of the shortest common
   step, or by half a click, has notes nearer to another's place than to their own.
*/
static void
report_left(const SrBeatFit* const f, const SrCourse* const course, SrPulse* const pulse)
{
  const SrJudgeSettings* const settings = f->take->settings;
  const double period_s = settings->click_period_s;
  if (!(period_s > 0.0) || !(settings->click_pulses > 0.0)) {
    return;
  }
  const double pulse_s = period_s / settings->click_pulses;
  const double step = fmin(1.0, sr_score_step(f->take->phrase));
  double most_s = 0.5 * fmin(period_s, step * pulse_s);
  double ahead_s = 0.0;
  double played_s = 0.0;
  for (size_t i = 1; i < f->count; ++i) {
    const SrBeatOnset* const a = &f->onsets[i - 1];
    const SrBeatOnset* const b = &f->onsets[i];
    const bool with_click = !is_free_of_click(f, course, a, b);
    if (with_click) {
      const double pulses = b->pulses - a->pulses;
      const double step_s = pulses * sr_beat_slope(f, 0.5 * (a->pulses + b->pulses));
      ahead_s += pulses * pulse_s - step_s;
      played_s += step_s;
    }
    if (!with_click || i + 1 == f->count) {
      if (fabs(ahead_s) > most_s && played_s > 0.0) {
        most_s = fabs(ahead_s);
        pulse->left_pulses = ahead_s / pulse_s;
        pulse->left_percent = 100.0 * ahead_s / played_s;
      }
      ahead_s = 0.0;
      played_s = 0.0;
    }
  }
}

static SrCourse
find_course(const SrBeatFit* const f)
{
  const SrBeatOnset* const last = &f->onsets[f->count - 1];
  const double length = sr_fraction_value(sr_phrase_note(f->take->phrase, last->note)->length);
  return sr_course_find(f->turns, f->solution + SR_BEAT_FIRST_TURN, f->turn_count,
                        f->onsets[0].pulses, last->pulses + length / f->pulse,
                        f->onsets[f->count / 2].usual_s);
}

/// Seconds per pulse at a place, at the main tempo if there is one.
static double
course_at(const SrBeatFit* const f, const SrCourse* const course, const double pulses)
{
  return sr_beat_slope(f, pulses) - sr_course_aside(course, pulses);
}

/// Add a wait that was found with the turns to the slips.
static void
report_wait(SrBeatFit* const f, const size_t turn)
{
  const SrBeatOnset* const onset = &f->onsets[sr_beat_onset_near(f, f->turns[turn].from)];
  const double wait_s = f->solution[SR_BEAT_FIRST_TURN + turn];
  const SrSlip slip = {.kind = wait_s > 0.0 ? SR_SLIP_HESITATION : SR_SLIP_HURRIED,
                       .at_s = onset->onset_s,
                       .note_index = onset->note,
                       .bar = f->round->notes[onset->note].bar,
                       .wait_s = wait_s};
  if (!sr_beat_went_back(f->round, onset->note)) {
    sr_beat_add_slip(f, slip);
  }
}

/// Add a stretch at another tempo to the slips.
static void
report_aside(SrBeatFit* const f, const SrCourse* const course, const SrPiece* const piece)
{
  const SrBeatOnset* const first = &f->onsets[sr_beat_onset_near(f, piece->from)];
  const double last = f->onsets[f->count - 1].pulses;
  const double longer_s = piece->more_s - course->own_s;
  const double own_s = course_at(f, course, 0.5 * (piece->from + piece->to));
  const SrSlip slip = {.kind = SR_SLIP_OTHER_TEMPO,
                       .at_s = first->onset_s,
                       .note_index = first->note,
                       .bar = f->round->notes[first->note].bar,
                       .wait_s = longer_s * (fmin(piece->to, last) - piece->from),
                       .until = piece->to > last ? f->round->note_count
                                                 : f->onsets[sr_beat_onset_near(f, piece->to)].note,
                       .longer_percent = 100.0 * longer_s / own_s};
  sr_beat_add_slip(f, slip);
}

void
sr_beat_report_turns(SrBeatFit* const f)
{
  for (size_t t = 0; t < f->turn_count; ++t) {
    if (f->turns[t].kind == SR_TURN_WAIT) {
      report_wait(f, t);
    }
  }
  const SrCourse course = find_course(f);
  for (size_t p = 0; p < course.count; ++p) {
    if (course.pieces[p].aside) {
      report_aside(f, &course, &course.pieces[p]);
    }
  }
}

/// Fill the course of the tempo.
static void
report_course(SrBeatFit* const f, const SrCourse* const course)
{
  SrPulse* const pulse = &f->pulse_found;
  const double from = course_at(f, course, f->onsets[0].pulses);
  const double to = course_at(f, course, f->onsets[f->count - 1].pulses);
  if (!f->drift || !(from > 0.0) || !(to > 0.0)) {
    return;
  }
  double longest = fmax(from, to);
  double shortest = fmin(from, to);
  for (size_t i = 0; i < f->count; ++i) {
    const double slope = course_at(f, course, f->onsets[i].pulses);
    longest = fmax(longest, slope);
    shortest = slope > 0.0 ? fmin(shortest, slope) : shortest;
  }
  pulse->first_bpm = 60.0 / from;
  pulse->last_bpm = 60.0 / to;
  pulse->change_percent = 100.0 * (longest / shortest - 1.0);
  double most = 0.0;
  for (size_t t = 0; t < f->turn_count; ++t) {
    const double size = fabs(f->solution[SR_BEAT_FIRST_TURN + t]);
    pulse->turns += sr_turn_is_of_tempo(&f->turns[t]);
    if (f->turns[t].kind == SR_TURN_JUMP && !isfinite(course->own_s) && size > most) {
      most = size;
      pulse->jump_note = f->onsets[sr_beat_onset_near(f, f->turns[t].from)].note;
    }
  }
}

void
sr_beat_report(SrBeatFit* const f, double* const scratch)
{
  SrPulse* const pulse = &f->pulse_found;
  const double first = f->onsets[0].pulses;
  const double last = f->onsets[f->count - 1].pulses;
  const SrCourse course = find_course(f);
  const double middle_s = course_at(f, &course, 0.5 * (first + last));
  double squares = 0.0;
  size_t kept = 0;
  for (size_t i = 0; i < f->count; ++i) {
    SrBeatOnset* const onset = &f->onsets[i];
    onset->due_s = sr_beat_predicted(f, onset);
    const double offset_ms = 1e3 * (onset->onset_s - onset->due_s);
    if (!onset->out) {
      squares += offset_ms * offset_ms;
      ++kept;
    }
  }
  if (middle_s > 0.0) {
    pulse->played_bpm = 60.0 / middle_s;
    pulse->drift_percent =
        f->drift ? 100.0 * (course_at(f, &course, first) / course_at(f, &course, last) - 1.0)
                 : (double)NAN;
    report_lilt(f, pulse, middle_s);
  }
  if (kept > f->determined) {
    pulse->spread_ms = sqrt(squares / (double)(kept - f->determined));
  }
  pulse->npvi = npvi_of(f, scratch);
  report_left(f, &course, pulse);
  pulse->mean_offset_ms = isfinite(pulse->left_pulses) ? (double)NAN : behind_click_ms(f);
  report_course(f, &course);
}

double
sr_beat_due_s(const SrBeatFit* const f, const size_t note)
{
  const SrPhraseNote* const written = sr_phrase_note(f->take->phrase, note);
  size_t next = 0;
  while (next < f->count && f->onsets[next].note < note) {
    ++next;
  }
  const size_t before = next ? next - 1 : 0;
  SrBeatOnset onset = f->onsets[before < f->count ? before : f->count - 1];
  onset.pulses = sr_fraction_value(written->start) / f->pulse;
  onset.place =
      f->places ? (size_t)lround(sr_beat_place(f, written) * (double)f->places) % f->places : 0;
  return sr_beat_predicted(f, &onset);
}
