// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file beat_waits.c
   Where the player waited, hurried, or skipped ahead, by single steps.
*/

#include "beat.h"
#include "median.h"
#include "score.h"

#include <math.h>
#include <string.h>

/// Set each onset's seconds per pulse from the same place in a later pulse, so that lilt cancels.
static void
find_whole_pulses(const SrBeatFit* const f)
{
  for (size_t i = 0; i < f->count; ++i) {
    SrBeatOnset* const from = &f->onsets[i];
    size_t j = i + 1;
    while (j < f->count &&
           (f->onsets[j].place != from->place || f->onsets[j].pulses - from->pulses < 1.0 - 1e-9)) {
      ++j;
    }
    from->whole_s =
        j < f->count ? (f->onsets[j].onset_s - from->onset_s) / (f->onsets[j].pulses - from->pulses)
                     : (double)NAN;
  }
}

/// The median of single steps, s per pulse; NAN if there are none. `scratch` has room for one value
/// per onset.
static double
usual_step(const SrBeatFit* const f, double* const scratch)
{
  size_t steps = 0;
  for (size_t i = 1; i < f->count; ++i) {
    const double pulses = f->onsets[i].pulses - f->onsets[i - 1].pulses;
    if (pulses > 1e-9) {
      scratch[steps++] = (f->onsets[i].onset_s - f->onsets[i - 1].onset_s) / pulses;
    }
  }
  return steps ? sr_median(scratch, steps) : (double)NAN;
}

/// The whole pulses around an onset, sorted.
typedef struct {
  double value[2 * ABOUT_ONSETS];
  size_t count;
} Pulses;

static void
add_pulse(Pulses* const pulses, const double value)
{
  if (isfinite(value)) {
    size_t i = pulses->count++;
    for (; i > 0 && pulses->value[i - 1] > value; --i) {
      pulses->value[i] = pulses->value[i - 1];
    }
    pulses->value[i] = value;
  }
}

static void
remove_pulse(Pulses* const pulses, const double value)
{
  if (isfinite(value)) {
    size_t i = 0;
    while (pulses->value[i] < value) {
      ++i;
    }
    --pulses->count;
    memmove(&pulses->value[i], &pulses->value[i + 1], (pulses->count - i) * sizeof(double));
  }
}

void
sr_beat_find_pulses(const SrBeatFit* const f, double* const scratch)
{
  find_whole_pulses(f);
  const double step_s = usual_step(f, scratch);
  Pulses about = {.count = 0};
  for (size_t i = 0; i < f->count && i + 1 < ABOUT_ONSETS; ++i) {
    add_pulse(&about, f->onsets[i].whole_s);
  }
  for (size_t i = 0; i < f->count; ++i) {
    if (i > ABOUT_ONSETS) {
      remove_pulse(&about, f->onsets[i - ABOUT_ONSETS - 1].whole_s);
    }
    if (i + ABOUT_ONSETS <= f->count) {
      add_pulse(&about, f->onsets[i + ABOUT_ONSETS - 1].whole_s);
    }
    const size_t half = about.count / 2;
    f->onsets[i].usual_s = about.count < LEAST_WHOLE_PULSES ? step_s
                           : about.count % 2                ? about.value[half]
                                             : 0.5 * (about.value[half - 1] + about.value[half]);
  }
}

/// How much later than due after the previous one an onset came, s; 0 for the first.
static double
over_due(const SrBeatFit* const f, const size_t onset, const double usual)
{
  if (onset == 0 || onset >= f->count) {
    return 0.0;
  }
  const SrBeatOnset* const a = &f->onsets[onset - 1];
  const SrBeatOnset* const b = &f->onsets[onset];
  const double due_s = (b->pulses - a->pulses) * usual;
  // The beat may lie anywhere among several graces
  const double least = b->first_s - a->last_s - due_s;
  const double most = b->last_s - a->first_s - due_s;
  return least > 0.0 ? least : fmin(most, 0.0);
}

/// Whether two neighbouring steps are off by nearly the same amount in opposite directions.
static bool
is_made_up(const double over, const double other)
{
  return over * other < 0.0 && fabs(over + other) < MADE_UP * fabs(over);
}

/// Number of notes just before an onset that were left out together with their time.
static size_t
count_left_out(const SrBeatFit* const f, const size_t onset, const double over, const double usual)
{
  const SrBeatOnset* const before = &f->onsets[onset - 1];
  const SrBeatOnset* const here = &f->onsets[onset];
  const size_t first = before->note + 1;
  double share = LEAST_LEFT_OUT_SHARE;
  for (size_t i = first; i < here->note; ++i) {
    share = f->round->notes[i].joined == SR_YES ? LEAST_JOINED_SHARE : share;
    const SrNoteVerdict* const note = &f->round->notes[i];
    const bool its_cut = note->has_cut && isfinite(note->cut.onset_s);
    if (note->status == SR_NOTE_UNHEARD || its_cut) {
      return 0;
    }
  }
  if (first >= here->note) {
    return 0;
  }
  const SrPhraseNote* const written = sr_phrase_note(f->take->phrase, first);
  const double pulses = here->pulses - sr_fraction_value(written->start) / f->pulse;
  // The step before them may be long, and the tempo changing
  const double other_s = (here->pulses - before->pulses - pulses) * usual;
  return over < -share * pulses * usual - LEAST_HURRY_STEP * other_s ? here->note - first : 0;
}

bool
sr_beat_went_back(const SrRound* const round, const size_t note)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (round->slips[i].kind == SR_SLIP_RESTART && round->slips[i].note_index == note) {
      return true;
    }
  }
  return false;
}

/// Robust standard deviation of the steps from their usual length, s. `scratch` as for
/// usual_step().
static double
step_scatter(const SrBeatFit* const f, double* const scratch)
{
  size_t steps = 0;
  for (size_t i = 1; i < f->count; ++i) {
    scratch[steps++] = fabs(over_due(f, i, f->onsets[i].usual_s));
  }
  return 1.4826 * sr_median(scratch, steps);
}

/// Whether an insertion lies between an onset and the one before it.
static bool
is_behind_extra(const SrBeatFit* const f, const size_t onset)
{
  for (size_t i = 0; i < f->round->insertion_count; ++i) {
    const double extra_s = f->round->insertions[i].onset_s;
    if (extra_s > f->onsets[onset - 1].onset_s && extra_s < f->onsets[onset].onset_s) {
      return true;
    }
  }
  return false;
}

/// How late an onset must be to count as a wait, s.
static double
least_wait(const SrBeatFit* const f, const size_t onset, const double due, const double scatter)
{
  const double usual = f->onsets[onset].usual_s;
  const double sure = fmax(SURE_WAIT_S, SURE_WAIT_SHARE * fmin(due, usual));
  const double small = is_behind_extra(f, onset)
                           ? fmax(LEAST_CORRECTED_WAIT_S, CORRECTED_WAIT_SCATTER * scatter)
                           : fmax(LEAST_WAIT_S, SMALL_WAIT_SCATTER * scatter);
  return f->count < DRIFT_ONSETS ? sure : fmin(sure, small);
}

void
sr_beat_find_beginning(SrBeatFit* const f)
{
  const size_t first = f->onsets[0].note;
  bool missed = first >= LEAST_UNBEGUN &&
                sr_fraction_value(sr_phrase_note(f->take->phrase, first)->in_bar) < 1e-9;
  for (size_t i = 0; i < first; ++i) {
    missed = missed && f->round->notes[i].status == SR_NOTE_MISSED;
  }
  if (!missed) {
    return;
  }
  const SrSlip slip = {.kind = SR_SLIP_LEFT_OUT,
                       .at_s = f->onsets[0].onset_s,
                       .note_index = first,
                       .bar = f->round->notes[first].bar,
                       .wait_s = (double)NAN,
                       .left_out = first};
  sr_beat_add_slip(f, slip);
}

void
sr_beat_find_waits(SrBeatFit* const f, double* const scratch)
{
  const double step = sr_score_step(f->take->phrase);
  const double scatter = step_scatter(f, scratch);
  double moved_s = 0.0;
  f->wait_count = 0;
  for (size_t i = 0; i < f->count; ++i) {
    if (i > 0) {
      const size_t note = f->onsets[i].note;
      const double usual = f->onsets[i].usual_s;
      const double due = (f->onsets[i].pulses - f->onsets[i - 1].pulses) * usual;
      const double over = over_due(f, i, usual);
      const size_t left_out = count_left_out(f, i, over, usual);
      const bool strayed = is_made_up(over, over_due(f, i + 1, usual)) ||
                           is_made_up(over, over_due(f, i - 1, usual));
      const bool waited = over > least_wait(f, i, due, scatter) && !strayed;
      const double least = fmax(SURE_WAIT_S, LEAST_HURRY_SHARE * step * usual);
      const bool hurried = over < -fmax(least, LEAST_HURRY_STEP * due) && !strayed;
      if (left_out > 0 || waited || hurried) {
        // The model has columns for the first ones; the others use the measured value
        moved_s += f->wait_count < MOST_WAITS ? 0.0 : over;
        ++f->wait_count;
        const SrSlipKind kind = left_out > 0 ? SR_SLIP_LEFT_OUT
                                : waited     ? SR_SLIP_HESITATION
                                             : SR_SLIP_HURRIED;
        const SrSlip slip = {.kind = kind,
                             .at_s = f->onsets[i].onset_s,
                             .note_index = note,
                             .bar = f->round->notes[note].bar,
                             .wait_s = left_out > 0 ? (double)NAN : over,
                             .left_out = left_out};
        if (!(waited && sr_beat_went_back(f->round, note))) {
          sr_beat_add_slip(f, slip);
        }
      }
    }
    f->onsets[i].waits = f->wait_count;
    f->onsets[i].moved_s = moved_s;
  }
}
