// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_levels.h"

#include <steadyreed/audio.h>
#include <steadyreed/take_page.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// Samples read at once.
#define CHUNK_SAMPLES 65536u

/// A stretch of the take.
typedef struct {
  float* samples;
  size_t length;
  size_t filled;
  int64_t start; ///< Of its first sample
} Stretch;

static bool
is_file(const char* const path)
{
  struct stat status;
  return strcmp(path, "-") != 0 && stat(path, &status) == 0 && S_ISREG(status.st_mode);
}

/// Copy what a stretch needs of a chunk that begins at the sample `at`.
static void
fill(Stretch* const stretch, const float* const chunk, const int64_t at, const size_t count)
{
  const int64_t from = stretch->start + (int64_t)stretch->filled;
  if (stretch->filled == stretch->length || from < at || from >= at + (int64_t)count) {
    return;
  }
  const size_t there = count - (size_t)(from - at);
  const size_t wanted = stretch->length - stretch->filled;
  const size_t copied = there < wanted ? there : wanted;
  memcpy(stretch->samples + stretch->filled, chunk + (from - at), copied * sizeof(float));
  stretch->filled += copied;
}

/// Read all stretches.
static void
read_stretches(SrTakeReader* const reader, Stretch* const stretches, const size_t count)
{
  float* const chunk = malloc(CHUNK_SAMPLES * sizeof(float));
  int64_t at = 0;
  size_t open = chunk ? count : 0;
  size_t read;
  while (open && (read = sr_take_reader_read(reader, chunk, CHUNK_SAMPLES)) > 0) {
    open = 0;
    for (size_t i = 0; i < count; ++i) {
      fill(&stretches[i], chunk, at, read);
      open += stretches[i].filled < stretches[i].length ? 1 : 0;
    }
    at += (int64_t)read;
  }
  free(chunk);
}

/// Make room for the stretches about some times; false without memory.
static bool
place_stretches(const double* const middle_s, const size_t count, const double rate_hz,
                Stretch* const stretches)
{
  const double length_s = SR_PAGE_CURVE_BEFORE_S + SR_PAGE_CURVE_AFTER_S;
  bool all = true;
  for (size_t i = 0; i < count; ++i) {
    stretches[i].start = llround(fmax(0.0, middle_s[i] - SR_PAGE_CURVE_BEFORE_S) * rate_hz);
    stretches[i].length = (size_t)lround(length_s * rate_hz);
    stretches[i].samples = malloc(stretches[i].length * sizeof(float));
    all = all && stretches[i].samples;
  }
  return all;
}

bool
sr_take_levels_read(const char* const path, const double* const middle_s, const size_t count,
                    SrLevelCurve* const curves)
{
  memset(curves, 0, count * sizeof(SrLevelCurve));
  SrTakeReader* reader = NULL;
  Stretch* const stretches = calloc(count + 1, sizeof(Stretch));
  if (!stretches || !is_file(path) || sr_take_reader_new(path, &reader, NULL) != SR_OK) {
    free(stretches);
    return false;
  }
  const double rate_hz = sr_take_reader_rate_hz(reader);
  bool all = place_stretches(middle_s, count, rate_hz, stretches);
  if (all) {
    read_stretches(reader, stretches, count);
  }
  for (size_t i = 0; i < count; ++i) {
    const Stretch* const stretch = &stretches[i];
    all = all &&
          sr_level_curve(stretch->samples, stretch->filled, rate_hz,
                         (double)stretch->start / rate_hz, &curves[i]) == SR_OK &&
          curves[i].count > 0;
    free(stretch->samples);
  }
  sr_take_reader_del(reader);
  free(stretches);
  return all;
}
