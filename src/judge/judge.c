// SPDX-License-Identifier: GPL-3.0-or-later

#include "advice.h"
#include "align.h"
#include "rhythm.h"
#include "rounds.h"
#include "score.h"

#include <steadyreed/judge.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// A take is this phrase if, of the notes it got to, so many are right and in their time,
#define LEAST_RIGHT 0.65
/// so many of the whole phrase,
#define LEAST_WHOLE 0.3
/// "in their time" being within this share of the phrase's usual step,
#define IN_TIME_STEP 0.3
/// and if not too many other sounds stand between.
#define MOST_EXTRA 0.6

/// A sound of this length stands by itself; a shorter one must be this near to one.
#define LONG_SOUND_S 0.07
#define BY_S 0.12
/// A sound so far below the usual long one, dB, is none.
#define FAINT_DB 20.0
/// … or, since the ear adds up what it gets over some tenths of a second, a sound of this length so
/// far below it.
#define BRIEF_S 0.012
#define BRIEF_DB 14.0

/// A doubled note's octave above is a stray part of it if it is no longer than this,
#define HEAD_S 0.1
/// the note begins within this of its end,
#define HEAD_GAP_S 0.02
/// and a part of the note before it, if this short, is its beginning.
#define FIRST_PART_S 0.06
/// A later part goes on in the phase of the one before by at least this.
#define SAME_PHASE 0.85

/// The beginning of a note that wavered: no longer than this, with the rest so soon behind it,
#define WAVER_S 0.08
#define WAVER_GAP_S 0.025
/// which fell by less than this in between.
#define WAVER_DB 12.0

SrJudgeSettings
sr_judge_settings_default(void)
{
  const SrJudgeSettings settings = {.long_cut_ms = 70.0,
                                    .long_cut_share = 0.4,
                                    .joined_fall_db = 10.0,
                                    .target_bpm = (double)NAN,
                                    .reference_hz = (double)NAN};
  return settings;
}

void
sr_assessment_del(SrAssessment* const assessment)
{
  if (!assessment) {
    return;
  }
  for (size_t r = 0; r < assessment->round_count; ++r) {
    SrRound* const round = &assessment->rounds[r];
    for (size_t i = 0; i < round->advice_count; ++i) {
      free(round->advice[i]);
    }
    free(round->advice);
    free(round->notes);
    free(round->extra);
    free(round->air);
    free(round->slips);
  }
  free(assessment->rounds);
  free(assessment->title);
  free(assessment->path);
  free(assessment);
}

static char*
copy_text(const char* const text)
{
  const char* const from = text ? text : "";
  char* const copy = (char*)malloc(strlen(from) + 1);
  if (copy) {
    memcpy(copy, from, strlen(from) + 1);
  }
  return copy;
}

/// By onset, then by all else that is told, so that any order of events gives one result.
static int
compare_events(const void* const a, const void* const b)
{
  const SrEvent* const x = (const SrEvent*)a;
  const SrEvent* const y = (const SrEvent*)b;
  if (x->onset_s < y->onset_s || x->onset_s > y->onset_s) {
    return x->onset_s < y->onset_s ? -1 : 1;
  }
  if (x->midi != y->midi) {
    return x->midi < y->midi ? -1 : 1;
  }
  return (x->end_s > y->end_s) - (x->end_s < y->end_s);
}

static int
compare_doubles(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// The A4 for which the pitches heard are in tune on the mean, each pitch counted once by its
/// median.
static double
find_reference(const SrAssessment* const assessment, double* const scratch)
{
  double sum = 0.0;
  size_t pitches = 0;
  for (int midi = 0; midi < 128; ++midi) {
    size_t count = 0;
    for (size_t r = 0; r < assessment->round_count; ++r) {
      const SrRound* const round = &assessment->rounds[r];
      for (size_t i = 0; i < round->note_count; ++i) {
        const SrNoteVerdict* const note = &round->notes[i];
        if (note->heard_midi == midi && isfinite(note->cents) && isfinite(note->onset_s)) {
          scratch[count++] = note->cents;
        }
      }
    }
    if (count) {
      qsort(scratch, count, sizeof(double), compare_doubles);
      sum += count % 2 ? scratch[count / 2] : 0.5 * (scratch[count / 2 - 1] + scratch[count / 2]);
      ++pitches;
    }
  }
  return pitches ? 440.0 * exp2(sum / (double)pitches / 1200.0) : (double)NAN;
}

/// Cents so far stand against 440 Hz; put them against the reference.
static SrStatus
set_reference(const SrTake* const take, SrAssessment* const assessment)
{
  size_t notes = 0;
  for (size_t r = 0; r < assessment->round_count; ++r) {
    notes += assessment->rounds[r].note_count;
  }
  double* const scratch = (double*)malloc((notes + 1) * sizeof(double));
  if (!scratch) {
    return SR_NO_MEMORY;
  }
  const double wanted = take->settings->reference_hz;
  assessment->reference_hz = find_reference(assessment, scratch);
  free(scratch);
  const double against = isfinite(wanted) ? wanted : assessment->reference_hz;
  const double shift = isfinite(against) ? 1200.0 * log2(against / 440.0) : 0.0;
  for (size_t r = 0; r < assessment->round_count; ++r) {
    for (size_t i = 0; i < assessment->rounds[r].note_count; ++i) {
      assessment->rounds[r].notes[i].cents -= shift;
    }
  }
  return SR_OK;
}

/// Whether a round is a playing of the phrase rather than notes that happen to fit.
static bool
is_this_phrase(const SrTake* const take, const SrRound* const round)
{
  size_t reached = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    if (round->notes[i].status != SR_NOTE_MISSED) {
      reached = i + 1;
    }
  }
  const double bpm = round->pulse.played_bpm;
  const double limit_ms = IN_TIME_STEP * sr_score_step(take->phrase) * 60e3 / bpm;
  size_t right = 0;
  size_t counted = 0;
  for (size_t i = 0; i < reached; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    const bool on_time = !isfinite(bpm) || !isfinite(note->offset_ms) ||
                         fabs(note->offset_ms) < fmax(limit_ms, 40.0);
    counted += note->status != SR_NOTE_UNHEARD;
    right += note->status == SR_NOTE_PLAYED && on_time;
  }
  return counted > 0 && (double)right >= LEAST_RIGHT * (double)counted &&
         (double)right >= LEAST_WHOLE * (double)round->note_count &&
         (double)round->extra_count <= MOST_EXTRA * (double)right + 2.0;
}

static void
drop_round(SrAssessment* const assessment, const size_t index)
{
  SrRound* const round = &assessment->rounds[index];
  free(round->notes);
  free(round->extra);
  free(round->slips);
  for (size_t r = index; r + 1 < assessment->round_count; ++r) {
    assessment->rounds[r] = assessment->rounds[r + 1];
  }
  --assessment->round_count;
}

/**
   Drop sounds far below what is usual in this take: the room, heard before it was known.

   @return How many are left.
*/
static size_t
drop_faint(SrEvent* const sounds, const size_t count, double* const scratch)
{
  size_t longs = 0;
  for (size_t i = 0; i < count; ++i) {
    if (sounds[i].end_s - sounds[i].onset_s >= LONG_SOUND_S) {
      scratch[longs++] = sounds[i].level_db;
    }
  }
  if (longs < 3) {
    return count;
  }
  qsort(scratch, longs, sizeof(double), compare_doubles);
  const double usual_db = scratch[longs / 2];
  size_t kept = 0;
  for (size_t i = 0; i < count; ++i) {
    const bool brief = sounds[i].end_s - sounds[i].onset_s < BRIEF_S;
    if (sounds[i].level_db >= usual_db - (brief ? BRIEF_DB : FAINT_DB)) {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

/**
   Drop short sounds that no longer one stands by: what is left of speech and knocks. A
   cut or a clipped note always has its neighbours.

   @return How many are left.
*/
static size_t
drop_flickers(SrEvent* const sounds, const size_t count)
{
  size_t kept = 0;
  double last_long_end = -1.0;
  for (size_t i = 0; i < count; ++i) {
    bool stands = sounds[i].end_s - sounds[i].onset_s >= LONG_SOUND_S ||
                  sounds[i].onset_s - last_long_end < BY_S;
    for (size_t j = i + 1; !stands && j < count && sounds[j].onset_s - sounds[i].end_s < BY_S;
         ++j) {
      stands = sounds[j].end_s - sounds[j].onset_s >= LONG_SOUND_S;
    }
    if (sounds[i].end_s - sounds[i].onset_s >= LONG_SOUND_S && sounds[i].end_s > last_long_end) {
      last_long_end = sounds[i].end_s;
    }
    if (stands) {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

/// The first sound of a pitch that begins, or the last that ends, about a time; count if none does.
static size_t
sound_about(const SrEvent* const sounds, const size_t count, const int midi, const double at_s,
            const bool ends)
{
  size_t found = count;
  for (size_t i = 0; i < count && sounds[i].onset_s < at_s + HEAD_GAP_S; ++i) {
    const double time_s = ends ? sounds[i].end_s : sounds[i].onset_s;
    if (sounds[i].midi == midi && fabs(time_s - at_s) < HEAD_GAP_S) {
      if (!ends) {
        return i;
      }
      found = i;
    }
  }
  return found;
}

static size_t
drop_sound(SrEvent* const sounds, const size_t count, const size_t index)
{
  memmove(&sounds[index], &sounds[index + 1], (count - index - 1) * sizeof(SrEvent));
  return count - 1;
}

/**
   Give a note back what was heard as its octave above: where a note is doubled, the
   upper reed speaks first, and for that while it may look like the octave's lower one.

   @return How many are left.
*/
static size_t
join_octave_heads(SrEvent* const sounds, size_t count)
{
  for (size_t i = 0; i < count;) {
    const SrEvent head = sounds[i];
    const size_t note = sound_about(sounds, count, head.midi - 12, head.end_s, false);
    if (head.end_s - head.onset_s > HEAD_S || note <= i || note == count) {
      ++i;
      continue;
    }
    const size_t before = sound_about(sounds, i, head.midi - 12, head.onset_s, true);
    SrEvent* const joined = &sounds[note];
    joined->onset_s = head.onset_s;
    if (before < i) {
      SrEvent* const first = &sounds[before];
      if (first->end_s - first->onset_s < FIRST_PART_S || joined->phase_kept > SAME_PHASE) {
        first->end_s = joined->end_s;
        first->level_db = joined->level_db;
        first->frequency_hz = joined->frequency_hz;
        count = drop_sound(sounds, count, note);
      }
    }
    count = drop_sound(sounds, count, i);
  }
  qsort(sounds, count, sizeof(SrEvent), compare_events);
  return count;
}

/// Whether any sound but these two begins about the place where they meet.
static bool
other_between(const SrEvent* const sounds, const size_t count, const size_t one, const size_t two)
{
  for (size_t i = 0; i < count; ++i) {
    if (i != one && i != two && sounds[i].onset_s > sounds[one].onset_s &&
        sounds[i].onset_s < sounds[two].onset_s + 0.005) {
      return true;
    }
  }
  return false;
}

/**
   Join a note's short beginning to the rest of it: slow reeds waver as they start. No
   tune has notes so short that repeat with nothing between.

   @return How many are left.
*/
static size_t
join_wavering_starts(SrEvent* const sounds, size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const first = &sounds[i];
    size_t rest = i + 1;
    while (rest < count && sounds[rest].midi != first->midi) {
      ++rest;
    }
    if (rest < count && first->end_s - first->onset_s < WAVER_S &&
        sounds[rest].onset_s - first->end_s < WAVER_GAP_S && sounds[rest].fall_db < WAVER_DB &&
        sounds[rest].end_s - sounds[rest].onset_s > first->end_s - first->onset_s &&
        !other_between(sounds, count, i, rest)) {
      const double fall_db = first->fall_db;
      const double phase_kept = first->phase_kept;
      const double onset_s = first->onset_s;
      sounds[i] = sounds[rest];
      sounds[i].onset_s = onset_s;
      sounds[i].fall_db = fall_db;
      sounds[i].phase_kept = phase_kept;
      count = drop_sound(sounds, count, rest);
    }
  }
  return count;
}

static SrStatus
judge_rounds(const SrTake* const take, SrAssessment* const assessment)
{
  SrAlignedSound* const aligned =
      (SrAlignedSound*)calloc(take->sound_count, sizeof(SrAlignedSound));
  SrStatus status = aligned ? SR_OK : SR_NO_MEMORY;
  if (status == SR_OK) {
    status = sr_align(take->phrase, take->sounds, take->sound_count, take->settings, aligned);
  }
  if (status == SR_OK) {
    status = sr_rounds_gather(take, aligned, assessment);
  }
  free(aligned);
  for (size_t r = 0; status == SR_OK && r < assessment->round_count;) {
    status = sr_rhythm_fit(take, &assessment->rounds[r]);
    if (status == SR_OK && !is_this_phrase(take, &assessment->rounds[r])) {
      drop_round(assessment, r);
    } else {
      ++r;
    }
  }
  if (status == SR_OK) {
    status = set_reference(take, assessment);
  }
  for (size_t r = 0; status == SR_OK && r < assessment->round_count; ++r) {
    sr_score_round(take, &assessment->rounds[r]);
    status = sr_advise(take, &assessment->rounds[r]);
  }
  return status;
}

static SrStatus
fill_facts(SrAssessment* const assessment, const SrPhrase* const phrase,
           const SrTakeFacts* const facts)
{
  assessment->title = copy_text(sr_phrase_title(phrase));
  assessment->path = copy_text(facts->path);
  if (!assessment->title || !assessment->path) {
    return SR_NO_MEMORY;
  }
  assessment->take = *facts;
  assessment->take.path = assessment->path;
  assessment->phrase_notes = sr_phrase_note_count(phrase);
  assessment->first_bar = sr_phrase_bar(phrase, 0)->number;
  assessment->last_bar = assessment->first_bar;
  for (size_t i = 0; i < sr_phrase_bar_count(phrase); ++i) {
    const int number = sr_phrase_bar(phrase, i)->number;
    if (number < assessment->first_bar) {
      assessment->first_bar = number;
    }
    if (number > assessment->last_bar) {
      assessment->last_bar = number;
    }
  }
  return SR_OK;
}

SrStatus
sr_judge_take(const SrPhrase* const phrase, const SrEvent* const events, const size_t count,
              const SrTakeFacts* const facts, const SrJudgeSettings* const settings,
              SrAssessment** const assessment, SrError* const error)
{
  *assessment = NULL;
  const SrJudgeSettings defaults = sr_judge_settings_default();
  SrAssessment* const result = (SrAssessment*)calloc(1, sizeof(SrAssessment));
  SrEvent* const sorted = (SrEvent*)calloc(count + 1, sizeof(SrEvent));
  SrEvent* const unheard = (SrEvent*)calloc(count + 1, sizeof(SrEvent));
  double* const scratch = (double*)calloc(count + 1, sizeof(double));
  SrTake take = {.phrase = phrase,
                 .sounds = sorted,
                 .unheard = unheard,
                 .settings = settings ? settings : &defaults};
  SrStatus status =
      result && sorted && unheard && scratch ? fill_facts(result, phrase, facts) : SR_NO_MEMORY;
  if (status == SR_OK) {
    for (size_t i = 0; i < count; ++i) {
      if (events[i].kind == SR_EVENT_SOUND) {
        sorted[take.sound_count++] = events[i];
      } else if (events[i].kind == SR_EVENT_UNHEARD) {
        unheard[take.unheard_count++] = events[i];
      }
    }
    qsort(sorted, take.sound_count, sizeof(SrEvent), compare_events);
    qsort(unheard, take.unheard_count, sizeof(SrEvent), compare_events);
    take.sound_count = drop_faint(sorted, take.sound_count, scratch);
    take.sound_count = drop_flickers(sorted, take.sound_count);
    take.sound_count = join_octave_heads(sorted, take.sound_count);
    take.sound_count = join_wavering_starts(sorted, take.sound_count);
    status = take.sound_count ? judge_rounds(&take, result) : SR_NOTHING_HEARD;
  }
  free(sorted);
  free(unheard);
  free(scratch);
  if (status == SR_OK && result->round_count == 0) {
    status = SR_NO_MATCH;
  }
  if (status == SR_OK) {
    *assessment = result;
    return SR_OK;
  }
  sr_assessment_del(result);
  if (status == SR_NO_MATCH) {
    return sr_error_set(error, status,
                        "What was played is not \"%s\": its notes do not come in their order. "
                        "Check the tune, the bars chosen and the key.",
                        sr_phrase_title(phrase));
  }
  if (status == SR_NOTHING_HEARD) {
    return sr_error_set(error, status,
                        "No note was heard. Check that the microphone was on, near and not muted.");
  }
  return sr_error_set(error, status, "There is not enough memory to judge this take.");
}
