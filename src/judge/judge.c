// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file judge.c
   Since a leap makes any tune fit any other, drop_what_is_not_it() counts each wait and each turn
   of the tempo against a round. Of 1560 pairs of random tunes in one key and beat, 8 are still
   taken for one another, all with a phrase of two or four bars.
*/

#include "advice.h"
#include "air.h"
#include "align.h"
#include "cut.h"
#include "median.h"
#include "rhythm.h"
#include "rounds.h"
#include "score.h"
#include "silent_click.h"
#include "tidy_sounds.h"
#include "tuning.h"

#include <steadyreed/judge.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

SrJudgeSettings
sr_judge_settings_default(void)
{
  const SrJudgeSettings settings = {.long_cut_ms = 70.0,
                                    .long_cut_share = 0.4,
                                    .joined_fall_db = 10.0,
                                    .target_bpm = (double)NAN,
                                    .reference_hz = (double)NAN,
                                    .click_s = (double)NAN,
                                    .click_period_s = (double)NAN,
                                    .click_pulses = 0.0};
  return settings;
}

double
sr_judge_likely_bpm(const SrPhrase* const phrase, const SrJudgeSettings* const settings)
{
  const double own = sr_phrase_tempo(phrase);
  return isfinite(settings->target_bpm) ? settings->target_bpm : own > 0.0 ? own : LIKELY_BPM;
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
    free(round->advice_notes);
    free(round->notes);
    free(round->insertions);
    free(round->air);
    free(round->slips);
    free(round->alone);
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

/// The A4 for which the pitches heard are in tune on average, each pitch counted once by its
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
      sum += sr_median(scratch, count);
      ++pitches;
    }
  }
  return pitches ? 440.0 * exp2(sum / (double)pitches / 1200.0) : (double)NAN;
}

/// Make cents, so far relative to 440 Hz, relative to the reference.
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

/// Number of insertions, except those that continue the pitch of the note they lie in.
static size_t
other_sounds(const SrRound* const round)
{
  size_t count = 0;
  for (size_t i = 0; i < round->insertion_count; ++i) {
    const SrNoteVerdict* last = NULL;
    for (size_t n = 0; n < round->note_count; ++n) {
      last = round->notes[n].onset_s < round->insertions[i].onset_s ? &round->notes[n] : last;
    }
    count += !last || last->heard_midi != round->insertions[i].midi;
  }
  return count;
}

/// Number of right notes of a round that are on time; 0 if it is not a playing of the phrase but
/// notes that happen to fit. `well` receives whether it certainly is one.
static size_t
count_right(const SrTake* const take, const SrRound* const round, bool* const well)
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
  size_t left_out = 0;
  for (size_t i = 0; i < reached; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    left_out = note->left_out ? left_out + 1 : 0;
    if (left_out > LEFT_OUT_COUNTS) {
      continue;
    }
    const bool on_time = !isfinite(bpm) || !isfinite(note->offset_ms) ||
                         fabs(note->offset_ms) < fmax(limit_ms, 40.0);
    counted += note->status != SR_NOTE_UNHEARD;
    right += note->status == SR_NOTE_PLAYED && on_time;
  }
  // Each turn and each wait makes it easier for arbitrary notes to be on time
  counted += LEFT_OUT_COUNTS * round->pulse.turns;
  for (size_t i = 0; i < round->slip_count; ++i) {
    counted +=
        round->slips[i].kind == SR_SLIP_HESITATION || round->slips[i].kind == SR_SLIP_HURRIED;
  }
  const bool fits = (double)right >= LEAST_RIGHT * (double)counted &&
                    (double)right >= LEAST_WHOLE * (double)round->note_count &&
                    (double)other_sounds(round) <= MOST_EXTRA * (double)right + 2.0;
  *well = (double)right >= WELL_RIGHT * (double)round->note_count ||
          (right >= WELL_NOTES && (double)right >= WELL_PLAYED * (double)counted);
  return fits ? right : 0;
}

/// Free what a round holds before it is judged.
static void
clear_round(SrRound* const round)
{
  free(round->notes);
  free(round->insertions);
  free(round->slips);
  *round = (SrRound){0};
}

/// Drop rounds that are not the phrase, and all of them if they are only a small part of another
/// tune.
static void
drop_what_is_not_it(const SrTake* const take, const SrAlignedSound* const aligned,
                    SrAssessment* const assessment)
{
  size_t right = 0;
  size_t kept = 0;
  bool well = false;
  for (size_t r = 0; r < assessment->round_count; ++r) {
    SrRound* const round = &assessment->rounds[r];
    bool well_here;
    const size_t here = count_right(take, round, &well_here);
    right += here;
    well = well || (here > 0 && well_here);
    if (here == 0) {
      clear_round(round);
    } else {
      assessment->rounds[kept++] = *round;
    }
  }
  size_t notes = 0;
  for (size_t i = 0; i < take->sound_count; ++i) {
    const SrEvent* const sound = &take->sounds[aligned[i].event];
    const bool melody = aligned[i].role == SR_ROLE_NOTE || aligned[i].role == SR_ROLE_INSERTION;
    notes += melody && sound->end_s - sound->onset_s >= SR_OWN_NOTE_S;
  }
  if (!well && (double)right < JUDGE_LEAST_NOTES * (double)notes) {
    for (size_t r = 0; r < kept; ++r) {
      clear_round(&assessment->rounds[r]);
    }
    kept = 0;
  }
  assessment->round_count = kept;
}

static SrStatus
judge_rounds(const SrTake* const take, SrAssessment* const assessment)
{
  SrAlignedSound* const aligned =
      (SrAlignedSound*)calloc(take->sound_count, sizeof(SrAlignedSound));
  SrStatus status = aligned ? SR_OK : SR_NO_MEMORY;
  if (status == SR_OK) {
    status = sr_align(take->phrase, take->sounds, take->sound_count, take->settings, false, NULL,
                      aligned);
  }
  if (status == SR_OK) {
    status = sr_rounds_gather(take, aligned, NULL, assessment);
  }
  for (size_t r = 0; status == SR_OK && r < assessment->round_count; ++r) {
    status = sr_rhythm_fit(take, true, &assessment->rounds[r]);
  }
  if (status == SR_OK) {
    drop_what_is_not_it(take, aligned, assessment);
    status = set_reference(take, assessment);
  }
  free(aligned);
  assessment->air_carriage = take->air_carriage;
  for (size_t r = 0; status == SR_OK && r < assessment->round_count; ++r) {
    status = sr_alone_gather(take, &assessment->rounds[r]);
    status = status == SR_OK ? sr_air_gather(take, &assessment->rounds[r]) : status;
    if (status == SR_OK) {
      sr_score_round(take, &assessment->rounds[r]);
      status = sr_advise(take, &assessment->rounds[r]);
    }
  }
  return status;
}

static SrStatus
fill_facts(SrAssessment* const assessment, const SrPhrase* const phrase,
           const SrTakeFacts* const facts, const SrJudgeSettings* const settings)
{
  assessment->title = copy_text(sr_phrase_title(phrase));
  assessment->path = copy_text(facts->path);
  if (!assessment->title || !assessment->path) {
    return SR_NO_MEMORY;
  }
  assessment->take = *facts;
  assessment->take.path = assessment->path;
  assessment->accompanied = settings->accompanied;
  assessment->phrase_notes = sr_phrase_note_count(phrase);
  assessment->click_s = settings->click_s;
  assessment->click_period_s = settings->click_period_s;
  assessment->click_pulses = settings->click_pulses;
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

/// A take prepared for alignment.
typedef struct {
  SrEvent* sounds;
  SrEvent* unheard;
  SrTake take;
} Ready;

static void
clear_ready(Ready* const ready)
{
  free(ready->sounds);
  free(ready->unheard);
}

/// `settings` must outlive it. False if out of memory; clear it even then.
static bool
make_ready(const SrPhrase* const phrase, const SrHeard* const heard,
           const SrJudgeSettings* const settings, Ready* const ready)
{
  const SrEvent* const events = heard->events;
  const size_t count = heard->event_count;
  double* const scratch = (double*)calloc(count + 1, sizeof(double));
  ready->sounds = (SrEvent*)calloc(count + 1, sizeof(SrEvent));
  ready->unheard = (SrEvent*)calloc(count + 1, sizeof(SrEvent));
  SrTake* const take = &ready->take;
  *take = (SrTake){.phrase = phrase,
                   .sounds = ready->sounds,
                   .unheard = ready->unheard,
                   .air = heard->air,
                   .air_count = heard->air_count,
                   .air_carriage = heard->air_carriage,
                   .settings = settings};
  const bool enough = scratch && ready->sounds && ready->unheard;
  for (size_t i = 0; enough && i < count; ++i) {
    if (events[i].kind == SR_EVENT_SOUND) {
      ready->sounds[take->sound_count++] = events[i];
    } else if (events[i].kind == SR_EVENT_UNHEARD) {
      ready->unheard[take->unheard_count++] = events[i];
    }
  }
  if (enough) {
    sr_events_sort(ready->unheard, take->unheard_count);
    take->sound_count = sr_sounds_tidy(phrase, ready->sounds, take->sound_count, heard->air,
                                       heard->air_count, scratch);
  }
  free(scratch);
  return enough;
}

struct SrFollowerImpl {
  SrAlignMemory* memory;
};

SrFollower*
sr_follower_new(void)
{
  SrFollower* const follower = (SrFollower*)calloc(1, sizeof(SrFollower));
  if (follower) {
    follower->memory = sr_align_memory_new();
  }
  if (follower && !follower->memory) {
    free(follower);
    return NULL;
  }
  return follower;
}

void
sr_follower_del(SrFollower* const follower)
{
  if (follower) {
    sr_align_memory_del(follower->memory);
    free(follower);
  }
}

SrStatus
sr_judge_so_far(const SrPhrase* const phrase, const SrHeard* const heard,
                const SrJudgeSettings* const settings, SrFollower* const follower,
                SrSoFar* const so_far)
{
  memset(so_far, 0, sizeof(*so_far));
  so_far->start_s = (double)NAN;
  const SrJudgeSettings defaults = sr_judge_settings_default();
  Ready ready = {0};
  SrAssessment* const all = (SrAssessment*)calloc(1, sizeof(SrAssessment));
  SrStatus status = make_ready(phrase, heard, settings ? settings : &defaults, &ready) && all
                        ? SR_OK
                        : SR_NO_MEMORY;
  const SrTake* const take = &ready.take;
  if (status == SR_OK && take->sound_count) {
    SrAlignedSound* const aligned =
        (SrAlignedSound*)calloc(take->sound_count, sizeof(SrAlignedSound));
    SrGoingOn going_on = {.start_s = (double)NAN};
    status = aligned ? sr_align(phrase, take->sounds, take->sound_count, take->settings, true,
                                follower ? follower->memory : NULL, aligned)
                     : SR_NO_MEMORY;
    if (status == SR_OK) {
      status = sr_rounds_gather(take, aligned, &going_on, all);
    }
    free(aligned);
    so_far->rounds_before = going_on.rounds_before;
    so_far->reached = going_on.reached;
    so_far->start_s = going_on.start_s;
    if (status == SR_OK && going_on.reached > 0) {
      SrRound* const round = &all->rounds[all->round_count - 1];
      status = sr_rhythm_fit(take, false, round);
      so_far->played_bpm = round->pulse.played_bpm;
      so_far->notes = round->notes;
      so_far->note_count = round->note_count;
      round->notes = NULL;
    }
  }
  clear_ready(&ready);
  sr_assessment_del(all);
  if (status != SR_OK) {
    sr_so_far_clear(so_far);
  }
  return status;
}

void
sr_so_far_clear(SrSoFar* const so_far)
{
  free(so_far->notes);
  memset(so_far, 0, sizeof(*so_far));
}

SrStatus
sr_judge_take(const SrPhrase* const phrase, const SrHeard* const heard,
              const SrTakeFacts* const facts, const SrJudgeSettings* const settings,
              SrAssessment** const assessment, SrError* const error)
{
  *assessment = NULL;
  const SrJudgeSettings defaults = sr_judge_settings_default();
  SrAssessment* const result = (SrAssessment*)calloc(1, sizeof(SrAssessment));
  Ready ready = {0};
  SrStatus status = make_ready(phrase, heard, settings ? settings : &defaults, &ready) && result
                        ? fill_facts(result, phrase, facts, settings ? settings : &defaults)
                        : SR_NO_MEMORY;
  if (status == SR_OK) {
    status = ready.take.sound_count ? judge_rounds(&ready.take, result) : SR_NOTHING_HEARD;
  }
  clear_ready(&ready);
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
                        "This does not sound like \"%s\": its notes were not heard in order. Check "
                        "the tune, the bars chosen and the key.",
                        sr_phrase_title(phrase));
  }
  if (status == SR_NOTHING_HEARD) {
    return sr_error_set(
        error, status, "No note was heard. Check that the microphone was on, close and not muted.");
  }
  return sr_error_set(error, status, "There is not enough memory to judge this take.");
}
