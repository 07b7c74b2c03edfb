// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file judged_take.c
   Whether a click that was found is only the player's notes (BY_NOTES): in even playing without a
   metronome all clicks lay near the beginning or end of a note, in recordings with one at most
   half.
*/

#include <steadyreed/judged_take.h>

#include "found_click.h"
#include "other_key.h"
#include "take_remarks.h"

#include <steadyreed/hear.h>
#include <steadyreed/take_note.h>

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// Samples read at once.
#define CHUNK_SAMPLES 65536u
/// Samples looked at together.
#define LOOKED_AT 64u

/// If a smaller share was played as written, the take may be in another key.
#define LEAST_PLAYED 0.5

// Checked here because audio and hear do not know each other.
// NOLINTBEGIN(misc-redundant-expression): the bounds are equal today, and need not stay so
static_assert((int)SR_TAKE_LOWEST_RATE_HZ >= (int)SR_LOWEST_RATE_HZ &&
                  (int)SR_TAKE_HIGHEST_RATE_HZ <= (int)SR_HIGHEST_RATE_HZ,
              "every rate that is read can be heard");
// NOLINTEND(misc-redundant-expression)

/// A take as the listening engine gets it: with any click removed and lost stretches as NaN.
typedef struct {
  SrTakeReader* reader;
  const SrLosses* losses;
  SrClickRemover* remover; ///< NULL without a click to remove
  uint64_t at;
} Source;

static size_t
read_source(void* const from, float* const samples, const size_t count)
{
  Source* const source = (Source*)from;
  const SrLosses* const losses = source->losses;
  size_t done = sr_take_reader_read(source->reader, samples, count);
  if (source->remover) {
    sr_click_remover_do(source->remover, samples, done);
  }
  const uint64_t lost_until = losses->count ? losses->lost[losses->count - 1].end : 0;
  if (done == 0 && lost_until > source->at) {
    // The device was lost before the player had finished
    const uint64_t more = lost_until - source->at;
    done = more < count ? (size_t)more : count;
    memset(samples, 0, done * sizeof(float));
  }
  sr_losses_apply(losses, source->at, samples, done);
  source->at += done;
  return done;
}

static SrStatus
rewind_source(void* const from, SrError* const error)
{
  Source* const source = (Source*)from;
  source->at = 0;
  if (source->remover) {
    sr_click_remover_rewind(source->remover);
  }
  return sr_take_reader_rewind(source->reader, error);
}

/// Whether any sample is louder.
static bool
any_louder(const float* const samples, const float than)
{
  int louder = 0;
  for (size_t i = 0; i < LOOKED_AT; ++i) {
    louder |= fabsf(samples[i]) > than ? 1 : 0;
  }
  return louder != 0;
}

/// The first sample from `from` on that is louder; `count` if none is.
static size_t
find_louder(const float* const samples, const size_t from, const size_t count, const float than)
{
  size_t i = from;
  while (i < count && !(fabsf(samples[i]) > than)) {
    ++i;
    while (i + LOOKED_AT <= count && !any_louder(samples + i, than)) {
      i += LOOKED_AT;
    }
  }
  return i;
}

/// Find the loudest sample, with which windows are aligned so that the same playing is heard alike
/// wherever the recording begins. Reads to the end; `finder` is NULL if no click is looked for.
static int64_t
find_loudest(SrTakeReader* const reader, float* const chunk, SrClickFinder* const finder)
{
  assert(chunk);
  float most = -1.0f;
  int64_t at = 0;
  int64_t loudest = 0;
  size_t count;
  while ((count = sr_take_reader_read(reader, chunk, CHUNK_SAMPLES)) > 0) {
    if (finder) {
      sr_click_finder_push(finder, chunk, count);
    }
    for (size_t i = find_louder(chunk, 0, count, most); i < count;
         i = find_louder(chunk, i + 1, count, most)) {
      most = fabsf(chunk[i]);
      loudest = at + (int64_t)i;
    }
    at += (int64_t)count;
  }
  return loudest;
}

/// Whether a take can be reopened. A pipe cannot: its writer would get SIGPIPE.
static bool
is_file(const char* const path)
{
  struct stat status;
  return strcmp(path, "-") != 0 && stat(path, &status) == 0 && S_ISREG(status.st_mode);
}

/// Read the note in a take of ours; false if it is not one.
static bool
note_of(const char* const path, SrTakeNote* const note)
{
  char text[SR_TAKE_NOTE_SIZE];
  return is_file(path) && sr_recording_note(path, text, NULL) == SR_OK &&
         sr_take_note_read(text, note);
}

/// The complete silences of the click, as far as the take goes.
static size_t
silences_of(const SrTakeNote* const note, const double rate_hz, SrSilence* const silences)
{
  uint64_t whole = 0;
  for (size_t i = 0; i < note->silences.count; ++i) {
    const SrStretch* const silence = &note->silences.lost[i];
    const uint64_t length = silence->end - silence->start;
    whole = length > whole ? length : whole;
  }
  size_t count = 0;
  for (size_t i = 0; i < note->silences.count && note->silent_bars > 0; ++i) {
    const SrStretch* const silence = &note->silences.lost[i];
    // Where part of the take was cut out, the return of the click may be missing
    if (silence->end - silence->start + 1 >= whole) {
      silences[count++] = (SrSilence){(double)silence->start / rate_hz,
                                      (double)silence->end / rate_hz, note->silent_bars};
    }
  }
  return count;
}

/// Settings for the click a take was played to, unless other settings are given. `silences` has
/// room for all of the note's.
static SrJudgeSettings
settings_of(const SrTakeNote* const note, const SrJudgeSettings* const asked, const double rate_hz,
            SrSilence* const silences)
{
  SrJudgeSettings settings = asked ? *asked : sr_judge_settings_default();
  if (note) {
    settings.target_bpm = isfinite(settings.target_bpm) ? settings.target_bpm : note->target_bpm;
    settings.click_s = note->click_s;
    settings.click_period_s = note->click_period_s;
    settings.click_pulses = note->click_pulses;
    settings.silences = silences;
    settings.silence_count = silences_of(note, rate_hz, silences);
  }
  return settings;
}

/// A take that is open, and how it is judged.
typedef struct {
  const SrPhrase* phrase;
  Source source;
  int64_t loudest;
  SrTakeFacts facts;
  SrJudgeSettings settings;
} OpenTake;

/// One hearing of it.
typedef struct {
  SrStatus status;
  SrListened listened;
  SrError error;
} Hearing;

/// Hear and judge it from its start, with or without a click removed.
static void
hear(OpenTake* const open, SrClickRemover* const remover, Hearing* const hearing)
{
  const SrTakeSource source = {read_source, rewind_source, &open->source};
  open->source.remover = remover;
  hearing->status = rewind_source(&open->source, &hearing->error);
  if (hearing->status == SR_OK) {
    hearing->status = sr_listen(open->phrase, &source, open->loudest, &open->facts, &open->settings,
                                &hearing->listened, &hearing->error);
  }
}

/// Whether the clicks found are clicks, as far as a hearing shows.
static bool
are_clicks(const OpenTake* const open, const SrClickFound* const found, Hearing* const hearing,
           const bool if_refused)
{
  bool are_notes = hearing->status == SR_NO_MATCH && !if_refused;
  if (hearing->status == SR_OK &&
      sr_found_click_ask_notes(&hearing->listened, found, open->facts.rate_hz, &are_notes)) {
    hearing->status = sr_take_no_memory(&hearing->error);
  }
  return !are_notes;
}

/// Hear and judge it, without any click found in it unless that is only the notes.
static SrStatus
judge_open(OpenTake* const open, SrRecordedClick* const click, SrJudgedTake* const take)
{
  Hearing plain = {.status = SR_NO_MATCH};
  Hearing cleaned = {.status = SR_NO_MATCH};
  bool by_click = click->remover != NULL;
  const bool asked = by_click && sr_found_click_is_doubtful(&click->found);
  if (asked) {
    // If they are the notes, nothing need be removed
    hear(open, NULL, &plain);
    by_click = are_clicks(open, &click->found, &plain, true);
  }
  if (by_click) {
    hear(open, click->remover, &cleaned);
    by_click = are_clicks(open, &click->found, &cleaned, false);
  }
  if (!by_click && !asked) {
    hear(open, NULL, &plain);
  }
  Hearing* const kept = by_click ? &cleaned : &plain;
  SrStatus outcome = kept->status;
  take->error = kept->error;
  if (outcome == SR_OK) {
    take->assessment = kept->listened.assessment;
    kept->listened.assessment = NULL;
  }
  if (outcome == SR_OK && by_click) {
    outcome = sr_found_click_judge(open->phrase, &kept->listened, &open->facts, &open->settings,
                                   &click->found, take);
  }
  const char* const unreported = sr_judge_air_unreported(kept->listened.air_carriage);
  if (outcome == SR_OK && unreported) {
    sr_take_remark(take, "%s", unreported);
  }
  sr_listened_clear(&plain.listened);
  sr_listened_clear(&cleaned.listened);
  return outcome;
}

static SrStatus
judge_as_written(const SrPhrase* const phrase, const char* const path,
                 const SrJudgeSettings* const settings, const bool find_click,
                 SrJudgedTake* const take)
{
  memset(take, 0, sizeof(*take));
  SrError* const error = &take->error;
  SrTakeReader* reader = NULL;
  SrRecordedClick click = {.finder = NULL};
  SrTakeNote note;
  const bool ours = note_of(path, &note);
  const SrLosses none = {.count = 0};
  const SrLosses* const losses = ours ? &note.losses : &none;
  int64_t loudest = 0;

  float* const chunk = malloc(CHUNK_SAMPLES * sizeof(float));
  SrStatus outcome = chunk ? sr_take_reader_new(path, &reader, error) : sr_take_no_memory(error);
  // A take of ours holds its own click, if it can be judged against one
  if (outcome == SR_OK && find_click && !ours) {
    outcome = sr_click_finder_new(sr_take_reader_rate_hz(reader), &click.finder, error);
  }
  if (outcome == SR_OK) {
    loudest = find_loudest(reader, chunk, click.finder);
  }
  free(chunk);
  if (outcome == SR_OK) {
    const SrTakeReading reading = sr_take_reader_reading(reader);
    outcome = sr_take_check(&reading, error);
    sr_take_remark_reading(take, &reading);
    sr_take_remark_losses(take, losses, reading.rate_hz);
    outcome = outcome == SR_OK ? sr_found_click_settle(&click, reading.rate_hz, error) : outcome;
    SrSilence silences[SR_MOST_LOSSES];
    OpenTake open = {.phrase = phrase,
                     .source = {.reader = reader, .losses = losses},
                     .loudest = loudest,
                     .facts = {path, reading.seconds, reading.rate_hz, reading.peak_dbfs,
                               reading.clipped_samples},
                     .settings =
                         settings_of(ours ? &note : NULL, settings, reading.rate_hz, silences)};
    outcome = outcome == SR_OK ? judge_open(&open, &click, take) : outcome;
    if (outcome == SR_NO_MATCH && reading.truncated) {
      sr_take_refuse_remains(phrase, reading.seconds, error);
    }
  }
  if (outcome != SR_OK) {
    sr_error_place(error, strcmp(path, "-") ? path : "standard input", 0, 0);
  }
  sr_found_click_clear(&click);
  sr_take_reader_del(reader);
  return outcome;
}

/// Judge a take in the key it seems to be played in, and keep that if it explains more of it.
static void
try_other_key(const SrPhrase* const phrase, const char* const path,
              const SrJudgeSettings* const settings, const bool find_click,
              SrJudgedTake* const take)
{
  const int shift = sr_other_key(phrase, path);
  SrPhrase* other = NULL;
  if (shift == 0 || sr_phrase_transpose(phrase, shift, &other, NULL) != SR_OK) {
    return;
  }
  // Button names do not fit another key
  SrJudgeSettings own = settings ? *settings : sr_judge_settings_default();
  own.places = NULL;
  SrJudgedTake second;
  judge_as_written(other, path, &own, find_click, &second);
  if (sr_assessment_explained(second.assessment) <= sr_assessment_explained(take->assessment)) {
    sr_judged_take_clear(&second);
    sr_phrase_del(other);
    return;
  }
  sr_judged_take_clear(take);
  *take = second;
  take->phrase = other;
  const int asked = sr_phrase_transposed(other);
  char name[48];
  char typed[48] = "leave --transpose out";
  if (asked != 0) {
    snprintf(typed, sizeof(typed), "use --transpose %d", asked);
  }
  sr_take_remark(
      take,
      "this was played %s than written, and is judged that way. If your box is in that key, %s",
      sr_interval_name(shift, name), typed);
}

SrStatus
sr_judged_take_make(const SrPhrase* const phrase, const char* const path,
                    const SrJudgeSettings* const settings, const bool find_click,
                    SrJudgedTake* const take)
{
  judge_as_written(phrase, path, settings, find_click, take);
  const bool misfits = take->assessment ? sr_assessment_played(take->assessment) < LEAST_PLAYED
                                        : take->error.status == SR_NO_MATCH;
  if (misfits && is_file(path)) {
    try_other_key(phrase, path, settings, find_click, take);
  }
  return take->assessment ? SR_OK : take->error.status;
}

void
sr_judged_take_clear(SrJudgedTake* const take)
{
  sr_phrase_del(take->phrase);
  sr_assessment_del(take->assessment);
  for (size_t i = 0; i < take->remark_count; ++i) {
    free(take->remarks[i]);
  }
  memset(take, 0, sizeof(*take));
}
