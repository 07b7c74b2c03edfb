// SPDX-License-Identifier: GPL-3.0-or-later

#include "heard_take.h"

#include <stdlib.h>
#include <string.h>

/// Samples read at once.
#define CHUNK_SAMPLES 65536u

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to hear the take.");
}

void
sr_heard_take_clear(SrHeardTake* const heard)
{
  free(heard->sounds);
  free(heard->air);
  memset(heard, 0, sizeof(*heard));
}

/// Make room for one more item.
static void*
one_more(void* const items, const size_t count, const size_t size)
{
  // Powers of two only
  const bool full = (count & (count - 1)) == 0;
  return full ? realloc(items, (count ? 2 * count : 1) * size) : items;
}

/// Keep what the engine has found so far.
static SrStatus
keep_found(SrHear* const hear, SrHeardTake* const heard)
{
  SrEvent event;
  while (sr_hear_pull(hear, &event)) {
    if (event.kind == SR_EVENT_SOUND) {
      SrEvent* const more = (SrEvent*)one_more(heard->sounds, heard->sound_count, sizeof(SrEvent));
      if (!more) {
        return SR_NO_MEMORY;
      }
      heard->sounds = more;
      heard->sounds[heard->sound_count++] = event;
    }
  }
  SrAirHeard air;
  while (sr_hear_pull_air(hear, &air)) {
    SrAirHeard* const more =
        (SrAirHeard*)one_more(heard->air, heard->air_count, sizeof(SrAirHeard));
    if (!more) {
      return SR_NO_MEMORY;
    }
    heard->air = more;
    heard->air[heard->air_count++] = air;
  }
  return SR_OK;
}

/// First pass: what instrument is it?
static SrStatus
learn(const SrTakeSource* const source, const int64_t loudest, const double rate_hz,
      const SrExpected* const expected, const SrReading reading, float* const chunk,
      SrProfile** const profile, SrError* const error)
{
  SrCalibration* calibration = NULL;
  SrStatus status = sr_calibration_new(rate_hz, expected, &calibration, error);
  if (status == SR_OK) {
    sr_calibration_align_to(calibration, loudest);
    size_t count;
    while ((count = source->read(source->from, chunk, CHUNK_SAMPLES)) > 0) {
      sr_calibration_push(calibration, chunk, count);
    }
    status = sr_calibration_finish(calibration, reading, profile, error);
  }
  sr_calibration_del(calibration);
  return status;
}

/// Second pass: what was played?
static SrStatus
hear(const SrTakeSource* const source, const int64_t loudest, const double rate_hz,
     const SrExpected* const expected, const SrProfile* const profile, float* const chunk,
     SrHeardTake* const heard, SrError* const error)
{
  SrHear* engine = NULL;
  SrStatus status = sr_hear_new(rate_hz, profile, expected, &engine, error);
  if (status != SR_OK) {
    return status;
  }
  sr_hear_place(engine, loudest);
  status = sr_hear_air_later(engine);
  size_t count;
  while (status == SR_OK && (count = source->read(source->from, chunk, CHUNK_SAMPLES)) > 0) {
    status = sr_hear_push(engine, chunk, count);
    status = status == SR_OK ? keep_found(engine, heard) : status;
  }
  status = status == SR_OK ? sr_hear_finish(engine) : status;
  status = status == SR_OK ? keep_found(engine, heard) : status;
  heard->air_carriage = sr_hear_air_carriage(engine);
  sr_hear_del(engine);
  return status == SR_OK ? SR_OK : no_memory(error);
}

SrStatus
sr_heard_take_make(const SrTakeSource* const source, const int64_t loudest, const double rate_hz,
                   const SrExpected* const expected, const SrReading reading,
                   SrHeardTake* const heard, SrError* const error)
{
  memset(heard, 0, sizeof(*heard));
  float* const chunk = (float*)malloc(CHUNK_SAMPLES * sizeof(float));
  SrProfile* profile = NULL;
  SrStatus status = chunk
                        ? learn(source, loudest, rate_hz, expected, reading, chunk, &profile, error)
                        : no_memory(error);
  status = status == SR_OK ? source->rewind(source->from, error) : status;
  if (status == SR_OK) {
    heard->reference_hz = sr_profile_reference_hz(profile);
    status = hear(source, loudest, rate_hz, expected, profile, chunk, heard, error);
  }
  sr_profile_del(profile);
  free(chunk);
  return status;
}
