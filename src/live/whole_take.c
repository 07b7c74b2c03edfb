// SPDX-License-Identifier: GPL-3.0-or-later

#include "choose_reading.h"
#include "tuning.h"
#include "window.h"

#include <steadyreed/listen.h>

#include <steadyreed/live.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// One take being listened to.
typedef struct {
  const SrPhrase* phrase;
  const SrTakeSource* source;
  int64_t loudest;
  const SrTakeFacts* facts;
  const SrJudgeSettings* settings;
  SrExpected expected;
  SrCalibration* calibration;
  float* chunk;
} Listening;

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge the take.");
}

void
sr_listened_clear(SrListened* const listened)
{
  free(listened->events);
  free(listened->air);
  sr_assessment_del(listened->assessment);
  memset(listened, 0, sizeof(*listened));
}

/// First pass: what instrument is it?
static SrStatus
calibration(Listening* const l, SrError* const error)
{
  SrStatus status = sr_calibration_new(l->facts->rate_hz, &l->expected, &l->calibration, error);
  if (status == SR_OK) {
    sr_calibration_align_to(l->calibration, l->loudest);
    size_t count;
    while ((count = l->source->read(l->source->from, l->chunk, CHUNK_SAMPLES)) > 0) {
      sr_calibration_push(l->calibration, l->chunk, count);
    }
  }
  return status;
}

/// Keep a copy of what a window heard.
static SrStatus
keep(SrWindow* const window, SrListened* const listened, SrError* const error)
{
  SrHeard heard;
  if (sr_window_heard(window, NULL, 0, INFINITY, &heard) != SR_OK) {
    return no_memory(error);
  }
  listened->events = (SrEvent*)calloc(heard.event_count + 1, sizeof(SrEvent));
  listened->air = (SrAirHeard*)calloc(heard.air_count + 1, sizeof(SrAirHeard));
  if (!listened->events || !listened->air) {
    return no_memory(error);
  }
  memcpy(listened->events, heard.events, heard.event_count * sizeof(SrEvent));
  if (heard.air_count) {
    memcpy(listened->air, heard.air, heard.air_count * sizeof(SrAirHeard));
  }
  listened->event_count = heard.event_count;
  listened->air_count = heard.air_count;
  listened->air_carriage = heard.air_carriage;
  return SR_OK;
}

/// Second pass: what was played?
static SrStatus
hear(const Listening* const l, const SrProfile* const profile, SrListened* const listened,
     SrError* const error)
{
  SrWindow* window = NULL;
  SrStatus status = l->source->rewind(l->source->from, error);
  if (status == SR_OK) {
    status = sr_window_new(l->facts->rate_hz, profile, &l->expected, 0, (double)-INFINITY, &window,
                           error);
  }
  if (status != SR_OK) {
    return status;
  }
  sr_window_place(window, (uint64_t)l->loudest);
  status = sr_window_air_later(window);
  size_t count;
  while (status == SR_OK &&
         (count = l->source->read(l->source->from, l->chunk, CHUNK_SAMPLES)) > 0) {
    status = sr_window_push(window, l->chunk, count);
  }
  if (status == SR_OK) {
    status = sr_window_finish(window);
  }
  status = status == SR_OK ? keep(window, listened, error) : no_memory(error);
  sr_window_del(window);
  return status;
}

/// Hear and judge it in one reading.
static SrStatus
judge_as(void* const context, const SrReading reading, SrListened* const listened,
         SrError* const error)
{
  const Listening* const l = (const Listening*)context;
  SrProfile* profile = NULL;
  SrStatus status = sr_calibration_finish(l->calibration, reading, &profile, error);
  if (status == SR_OK) {
    status = hear(l, profile, listened, error);
  }
  if (status == SR_OK) {
    const SrHeard heard = {listened->events, listened->event_count, listened->air,
                           listened->air_count, listened->air_carriage};
    SrJudgeSettings settings = l->settings ? *l->settings : sr_judge_settings_default();
    settings.accompanied = reading == SR_READ_ACCOMPANIED;
    status = sr_judge_take(l->phrase, &heard, l->facts, &settings, &listened->assessment, error);
  }
  if (listened->assessment) {
    listened->assessment->doubled = reading == SR_READ_DOUBLED;
  }
  sr_profile_del(profile);
  return status;
}

/// Hear and judge it in the likelier reading, and in others that may be better.
static SrStatus
listen(Listening* const l, SrListened* const listened, SrError* const error)
{
  const double nats = sr_calibration_doubled_nats(l->calibration);
  SrReading reading = sr_reading_likely(nats);
  const SrStatus status = judge_as(l, reading, listened, error);
  if (status != SR_OK && status != SR_NO_MATCH) {
    return status;
  }
  const SrReadingTrial trial = {judge_as, l};
  SrError ignored;
  const SrStatus tried = sr_readings_try(&trial, nats, &reading, listened, &ignored);
  if (tried != SR_OK) {
    return no_memory(error);
  }
  return listened->assessment ? SR_OK : status;
}

SrStatus
sr_listen(const SrPhrase* const phrase, const SrTakeSource* const source, const int64_t loudest,
          const SrTakeFacts* const facts, const SrJudgeSettings* const settings,
          SrListened* const listened, SrError* const error)
{
  memset(listened, 0, sizeof(*listened));
  Listening l = {.phrase = phrase,
                 .source = source,
                 .loudest = loudest,
                 .facts = facts,
                 .settings = settings,
                 .expected = sr_live_expected(phrase),
                 .chunk = (float*)malloc(CHUNK_SAMPLES * sizeof(float))};
  SrStatus status = l.chunk ? calibration(&l, error) : no_memory(error);
  if (status == SR_OK) {
    status = listen(&l, listened, error);
  }
  sr_calibration_del(l.calibration);
  free(l.chunk);
  return status;
}
