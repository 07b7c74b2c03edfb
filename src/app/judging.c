// SPDX-License-Identifier: GPL-3.0-or-later

#include "judging.h"

#include "losses.h"
#include "take_note.h"

#include <steadyreed/audio.h>
#include <steadyreed/hear.h>
#include <steadyreed/live.h>

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Samples read at once.
#define CHUNK_SAMPLES 65536u
/// Shorter than this, no phrase can be told.
#define SHORTEST_TAKE_S 1.0
/// A recording whose largest sample is lower holds nothing but the silence of its converter: the
/// least step of 16 bits lies at -90 dBFS (common practice, no source).
#define SILENCE_DBFS (-80.0)
/// A recording whose largest sample is lower is worth a remark (common practice, no source).
#define QUIET_DBFS (-40.0)
/// A recording of floats whose largest sample is higher was saved in another scale, such as that of
/// 16 bits, at +90 dBFS.
#define HIGHEST_DBFS 60.0
/// Constant offset worth a remark, full scale 1 (common practice, no source).
#define OFFSET_WORTH_SAYING 0.02
/// Loss by mixing worth a remark, dB: channels without likeness lose 3, these cancel each other.
#define MIX_LOSS_DB 10.0

// audio and hear do not know each other; here is where they meet.
// NOLINTBEGIN(misc-redundant-expression): the bounds are equal today, and need not stay so
static_assert((int)SR_TAKE_LOWEST_RATE_HZ >= (int)SR_LOWEST_RATE_HZ &&
                  (int)SR_TAKE_HIGHEST_RATE_HZ <= (int)SR_HIGHEST_RATE_HZ,
              "every rate that is read can be heard");
// NOLINTEND(misc-redundant-expression)

/// Events of a take, growing.
typedef struct {
  SrEvent* events;
  size_t count;
  size_t room;
  SrAirHeard* air;
  size_t air_count;
} EventList;

/// Keep a sentence about the recording; without memory it is left out.
static void remark(SrJudgedTake* take, const char* format, ...) SR_PRINTF(2, 3);

static void
remark(SrJudgedTake* const take, const char* const format, ...)
{
  char* text = NULL;
  va_list arguments;
  va_start(arguments, format);
  const int length = vasprintf(&text, format, arguments);
  va_end(arguments);
  if (length < 0) {
    return;
  }
  if (take->remark_count >= SR_MOST_REMARKS) {
    free(text);
    return;
  }
  take->remarks[take->remark_count++] = text;
}

static void
make_remarks(SrJudgedTake* const take, const SrTakeReading* const reading)
{
  if (reading->truncated && isfinite(reading->promised_seconds)) {
    remark(take,
           "the recording breaks off: it should be %.1f s long and %.1f s could be read; it is "
           "judged as far as it goes.",
           reading->promised_seconds, reading->seconds);
  } else if (reading->truncated) {
    remark(take,
           "the recording breaks off or is damaged after %.1f s; it is judged as far as it goes.",
           reading->seconds);
  }
  if (reading->not_finite) {
    remark(take,
           "%zu sample%s of the recording hold no number; they count as silence, not as your "
           "fault.",
           reading->not_finite, reading->not_finite == 1 ? "" : "s");
  }
  if (reading->clipped_samples) {
    remark(take,
           "the recording is overdriven in %zu samples, so it may mislead the ear there; turn the "
           "input down.",
           reading->clipped_samples);
  }
  if (reading->peak_dbfs < QUIET_DBFS && reading->peak_dbfs >= SILENCE_DBFS) {
    remark(take,
           "the recording is quiet (its loudest moment is %.0f dB below full scale); turn the "
           "input up or go nearer to the microphone.",
           -reading->peak_dbfs);
  }
  if (fabs(reading->offset) > OFFSET_WORTH_SAYING && reading->peak_dbfs <= HIGHEST_DBFS) {
    remark(take,
           "the recording stands off zero by %.0f %% of full scale; that is not heard, but it "
           "takes room from the sound. Look at the sound card.",
           100.0 * fabs(reading->offset));
  }
  if (reading->mix_loss_db > MIX_LOSS_DB) {
    remark(take,
           "the channels of the recording cancel each other (one is upside down?), so little is "
           "left to listen to; save one channel alone.");
  }
}

static void
remark_losses(SrJudgedTake* const take, const SrLosses* const losses, const double rate_hz)
{
  uint64_t lost = 0;
  for (size_t i = 0; i < losses->count; ++i) {
    lost += losses->lost[i].end - losses->lost[i].start;
  }
  if (lost && rate_hz > 0.0) {
    remark(take,
           "%.2f s of it were lost when it was recorded; what was played there is not judged.",
           (double)lost / rate_hz);
  }
}

/// Refuse a recording that holds nothing to judge, before any time is spent on it.
static SrStatus
check_reading(const SrTakeReading* const reading, SrError* const error)
{
  const size_t samples = (size_t)(reading->seconds * reading->rate_hz + 0.5);
  if (samples == 0) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "The recording holds no sound at all (0 samples). Record the take again.");
  }
  if (reading->not_finite >= samples) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "No sample of the recording is a number, so there is nothing to hear. Save "
                        "it again from the recorder, as 16 or 24 bits.");
  }
  if (reading->seconds < SHORTEST_TAKE_S) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "The recording is only %.2f s long%s. A take needs a second at least.",
                        reading->seconds, reading->truncated ? " and breaks off" : "");
  }
  if (reading->peak_dbfs > HIGHEST_DBFS) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "The samples of the recording go %.0f dB beyond full scale, so it was "
                        "saved in a scale of its own. Save it again as 16 or 24 bits.",
                        reading->peak_dbfs);
  }
  if (reading->peak_dbfs < SILENCE_DBFS) {
    return sr_error_set(error, SR_NOTHING_HEARD,
                        "The recording is silent from end to end. Was the microphone muted, or "
                        "another input chosen?");
  }
  return SR_OK;
}

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge the take.");
}

/// Where the loudest sample is: windows are laid by it, so that the same playing is heard alike
/// wherever the recording begins.
static SrStatus
find_loudest(SrTakeReader* const reader, float* const chunk, int64_t* const loudest,
             SrError* const error)
{
  assert(chunk);
  float most = -1.0f;
  int64_t at = 0;
  size_t count;
  *loudest = 0;
  while ((count = sr_take_reader_read(reader, chunk, CHUNK_SAMPLES)) > 0) {
    for (size_t i = 0; i < count; ++i) {
      if (fabsf(chunk[i]) > most) {
        most = fabsf(chunk[i]);
        *loudest = at + (int64_t)i;
      }
    }
    at += (int64_t)count;
  }
  return sr_take_reader_rewind(reader, error);
}

/// First hearing: what instrument is it?
static SrStatus
survey_take(SrTakeReader* const reader, const SrExpected* const expected, const int64_t loudest,
            float* const chunk, SrProfile** const profile, SrError* const error)
{
  SrSurvey* survey = NULL;
  SrStatus outcome = sr_survey_new(sr_take_reader_rate_hz(reader), expected, &survey, error);
  if (outcome != SR_OK) {
    return outcome;
  }
  sr_survey_place(survey, loudest);
  size_t count;
  while ((count = sr_take_reader_read(reader, chunk, CHUNK_SAMPLES)) > 0) {
    sr_survey_push(survey, chunk, count);
  }
  const SrTakeReading reading = sr_take_reader_reading(reader);
  outcome = check_reading(&reading, error);
  if (outcome == SR_OK) {
    outcome = sr_survey_finish(survey, profile, error);
  }
  sr_survey_del(survey);
  return outcome;
}

static SrStatus
pull_air(SrHear* const hear, EventList* const list, SrError* const error)
{
  SrAirHeard air;
  while (sr_hear_pull_air(hear, &air)) {
    SrAirHeard* const grown = realloc(list->air, (list->air_count + 1) * sizeof(SrAirHeard));
    if (!grown) {
      return no_memory(error);
    }
    list->air = grown;
    list->air[list->air_count++] = air;
  }
  return SR_OK;
}

static SrStatus
pull_events(SrHear* const hear, EventList* const list, SrError* const error)
{
  SrEvent event;
  while (sr_hear_pull(hear, &event)) {
    if (list->count == list->room) {
      const size_t room = list->room ? 2 * list->room : 256;
      SrEvent* const grown = realloc(list->events, room * sizeof(SrEvent));
      if (!grown) {
        return no_memory(error);
      }
      list->events = grown;
      list->room = room;
    }
    list->events[list->count++] = event;
  }
  return pull_air(hear, list, error);
}

/// Second hearing: what was played?
static SrStatus
hear_take(SrTakeReader* const reader, const SrExpected* const expected, const int64_t loudest,
          const SrProfile* const profile, const SrLosses* const losses, float* const chunk,
          EventList* const list, SrError* const error)
{
  assert(chunk);
  SrHear* hear = NULL;
  SrStatus outcome = sr_hear_new(sr_take_reader_rate_hz(reader), profile, expected, &hear, error);
  if (outcome != SR_OK) {
    return outcome;
  }
  sr_hear_place(hear, loudest);
  size_t count;
  uint64_t at = 0;
  while (outcome == SR_OK && (count = sr_take_reader_read(reader, chunk, CHUNK_SAMPLES)) > 0) {
    sr_losses_apply(losses, at, chunk, count);
    at += count;
    outcome = sr_hear_push(hear, chunk, count) == SR_OK ? pull_events(hear, list, error)
                                                        : no_memory(error);
  }
  if (outcome == SR_OK && losses->count && losses->lost[losses->count - 1].end > at) {
    // The device was gone before the player was done
    const uint64_t more = losses->lost[losses->count - 1].end - at;
    count = more < CHUNK_SAMPLES ? (size_t)more : CHUNK_SAMPLES;
    memset(chunk, 0, count * sizeof(float));
    sr_losses_apply(losses, at, chunk, count);
    outcome = sr_hear_push(hear, chunk, count) == SR_OK ? SR_OK : no_memory(error);
  }
  if (outcome == SR_OK) {
    outcome = sr_hear_finish(hear) == SR_OK ? pull_events(hear, list, error) : no_memory(error);
  }
  sr_hear_del(hear);
  return outcome;
}

/// What a take of ours tells of itself; false if it is none.
static bool
note_of(const char* const path, SrTakeNote* const note)
{
  char text[SR_TAKE_NOTE_SIZE];
  return strcmp(path, "-") != 0 && sr_recording_note(path, text, NULL) == SR_OK &&
         sr_take_note_read(text, note);
}

/// The click that a take was played to, where nothing else was asked for.
static SrJudgeSettings
settings_of(const SrTakeNote* const note, const SrJudgeSettings* const asked)
{
  SrJudgeSettings settings = asked ? *asked : sr_judge_settings_default();
  if (note) {
    settings.target_bpm = isfinite(settings.target_bpm) ? settings.target_bpm : note->target_bpm;
    settings.click_s = note->click_s;
    settings.click_period_s = note->click_period_s;
    settings.click_pulses = note->click_pulses;
  }
  return settings;
}

SrStatus
sr_judged_take_make(const SrPhrase* const phrase, const char* const path,
                    const SrJudgeSettings* const settings, SrJudgedTake* const take)
{
  memset(take, 0, sizeof(*take));
  SrError* const error = &take->error;
  const SrExpected expected = sr_live_expected(phrase);
  SrTakeReader* reader = NULL;
  SrProfile* profile = NULL;
  EventList list = {0};
  SrTakeNote note;
  const bool ours = note_of(path, &note);
  const SrLosses none = {.count = 0};
  const SrLosses* const losses = ours ? &note.losses : &none;

  float* const chunk = malloc(CHUNK_SAMPLES * sizeof(float));
  SrStatus outcome = chunk ? sr_take_reader_new(path, &reader, error) : no_memory(error);
  int64_t loudest = 0;
  if (outcome == SR_OK) {
    outcome = find_loudest(reader, chunk, &loudest, error);
  }
  if (outcome == SR_OK) {
    outcome = survey_take(reader, &expected, loudest, chunk, &profile, error);
    const SrTakeReading reading = sr_take_reader_reading(reader);
    make_remarks(take, &reading);
    remark_losses(take, losses, reading.rate_hz);
    if (outcome == SR_OK) {
      outcome = sr_take_reader_rewind(reader, error);
    }
    if (outcome == SR_OK) {
      outcome = hear_take(reader, &expected, loudest, profile, losses, chunk, &list, error);
    }
    if (outcome == SR_OK) {
      const SrTakeFacts facts = {path, reading.seconds, reading.rate_hz, reading.peak_dbfs,
                                 reading.clipped_samples};
      const SrHeard heard = {list.events, list.count, list.air, list.air_count};
      const SrJudgeSettings own = settings_of(ours ? &note : NULL, settings);
      outcome = sr_judge_take(phrase, &heard, &facts, &own, &take->assessment, error);
    }
  }
  if (outcome != SR_OK) {
    take->assessment = NULL;
    sr_error_place(error, strcmp(path, "-") ? path : "standard input", 0, 0);
  }
  free(list.events);
  free(list.air);
  sr_profile_del(profile);
  sr_take_reader_del(reader);
  free(chunk);
  return outcome;
}

void
sr_judged_take_clear(SrJudgedTake* const take)
{
  sr_assessment_del(take->assessment);
  for (size_t i = 0; i < take->remark_count; ++i) {
    free(take->remarks[i]);
  }
  memset(take, 0, sizeof(*take));
}
