// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_part.h"

#include <steadyreed/audio.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/// Longest part, s.
#define LONGEST_S 3600.0

SrStatus
sr_take_part_read(const char* const path, const double from_s, const double to_s,
                  SrTakePart* const part, SrError* const error)
{
  *part = (SrTakePart){.samples = NULL};
  if (!(to_s - from_s <= LONGEST_S)) {
    return sr_error_set(error, SR_TOO_LARGE, "That is over an hour. Choose fewer bars.");
  }
  SrTakeReader* reader = NULL;
  SrStatus status = sr_take_reader_new(path, &reader, error);
  if (status != SR_OK) {
    return status;
  }
  const double rate_hz = sr_take_reader_rate_hz(reader);
  const size_t first = (size_t)llround(fmax(0.0, from_s) * rate_hz);
  const size_t end = (size_t)llround(fmax(0.0, to_s) * rate_hz);
  float* const samples = end > first ? (float*)calloc(end - first, sizeof(float)) : NULL;
  const bool reaches = samples && sr_take_reader_skip(reader, first) == first;
  size_t count = 0;
  size_t got = 0;
  do {
    got = reaches ? sr_take_reader_read(reader, samples + count, end - first - count) : 0;
    count += got;
  } while (got > 0 && count < end - first);
  sr_take_reader_del(reader);
  if (end > first && !samples) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to read the recording.");
  }
  if (count == 0) {
    free(samples);
    status = sr_error_set(error, SR_NOT_FOUND, "The recording ends before that.");
    sr_error_place(error, path, 0, 0);
    return status;
  }
  *part = (SrTakePart){samples, count, rate_hz, (double)first / rate_hz};
  return SR_OK;
}

void
sr_take_part_clear(SrTakePart* const part)
{
  free(part->samples);
  *part = (SrTakePart){.samples = NULL};
}
