// SPDX-License-Identifier: GPL-3.0-or-later

#include "past.h"

#include <stdlib.h>
#include <string.h>

/// Samples of the first allocation.
#define FIRST_ROOM 65536u

struct SrPastImpl {
  float* samples; ///< Ring buffer of `room` samples
  size_t room;
  size_t most;
  uint64_t start;
  uint64_t end;
};

SrPast*
sr_past_new(const size_t most)
{
  SrPast* const past = (SrPast*)calloc(1, sizeof(SrPast));
  if (past) {
    past->most = most;
  }
  return past;
}

void
sr_past_del(SrPast* const past)
{
  if (past) {
    free(past->samples);
    free(past);
  }
}

static bool
grow(SrPast* const past, const size_t wanted)
{
  size_t room = past->room ? past->room : FIRST_ROOM;
  while (room < wanted) {
    room *= 2;
  }
  room = room < past->most ? room : past->most;
  if (room <= past->room) {
    return true;
  }
  float* const samples = (float*)malloc(room * sizeof(float));
  if (!samples) {
    return false;
  }
  for (uint64_t at = past->start; at < past->end;) {
    size_t count;
    const float* const from = sr_past_at(past, at, &count);
    for (size_t i = 0; i < count; ++i) {
      samples[(at + i) % room] = from[i];
    }
    at += count;
  }
  free(past->samples);
  past->samples = samples;
  past->room = room;
  return true;
}

bool
sr_past_add(SrPast* const past, const float* const samples, const size_t count)
{
  if (!grow(past, (size_t)(past->end - past->start) + count)) {
    return false;
  }
  for (size_t done = 0; done < count;) {
    const size_t place = (size_t)((past->end + done) % past->room);
    const size_t room = past->room - place;
    const size_t part = count - done < room ? count - done : room;
    memcpy(past->samples + place, samples + done, part * sizeof(float));
    done += part;
  }
  past->end += count;
  if (past->end - past->start > past->room) {
    past->start = past->end - past->room;
  }
  return true;
}

void
sr_past_forget(SrPast* const past, const uint64_t before)
{
  if (before > past->start) {
    past->start = before < past->end ? before : past->end;
  }
}

uint64_t
sr_past_start(const SrPast* const past)
{
  return past->start;
}

uint64_t
sr_past_end(const SrPast* const past)
{
  return past->end;
}

const float*
sr_past_at(const SrPast* const past, const uint64_t at, size_t* const count)
{
  if (at < past->start || at >= past->end || past->room == 0) {
    *count = 0;
    return NULL;
  }
  const size_t place = (size_t)(at % past->room);
  const uint64_t left = past->end - at;
  *count = past->room - place < left ? past->room - place : (size_t)left;
  return past->samples + place;
}
