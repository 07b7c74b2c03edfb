// SPDX-License-Identifier: GPL-3.0-or-later

#include "history.h"

#include "tuning.h"

#include <stdlib.h>
#include <string.h>

struct SrHistoryRingImpl {
  float* samples; ///< Ring buffer of `room` samples
  size_t room;
  size_t most;
  uint64_t start;
  uint64_t end;
};

SrHistoryRing*
sr_history_ring_new(const size_t most)
{
  SrHistoryRing* const history = (SrHistoryRing*)calloc(1, sizeof(SrHistoryRing));
  if (history) {
    history->most = most;
  }
  return history;
}

void
sr_history_ring_del(SrHistoryRing* const history)
{
  if (history) {
    free(history->samples);
    free(history);
  }
}

static bool
grow(SrHistoryRing* const history, const size_t wanted)
{
  size_t room = history->room ? history->room : FIRST_ROOM;
  while (room < wanted) {
    room *= 2;
  }
  room = room < history->most ? room : history->most;
  if (room <= history->room) {
    return true;
  }
  float* const samples = (float*)malloc(room * sizeof(float));
  if (!samples) {
    return false;
  }
  for (uint64_t at = history->start; at < history->end;) {
    size_t count;
    const float* const from = sr_history_ring_at(history, at, &count);
    for (size_t i = 0; i < count; ++i) {
      samples[(at + i) % room] = from[i];
    }
    at += count;
  }
  free(history->samples);
  history->samples = samples;
  history->room = room;
  return true;
}

bool
sr_history_ring_add(SrHistoryRing* const history, const float* const samples, const size_t count)
{
  if (!grow(history, (size_t)(history->end - history->start) + count)) {
    return false;
  }
  for (size_t done = 0; done < count;) {
    const size_t place = (size_t)((history->end + done) % history->room);
    const size_t room = history->room - place;
    const size_t part = count - done < room ? count - done : room;
    memcpy(history->samples + place, samples + done, part * sizeof(float));
    done += part;
  }
  history->end += count;
  if (history->end - history->start > history->room) {
    history->start = history->end - history->room;
  }
  return true;
}

void
sr_history_ring_forget(SrHistoryRing* const history, const uint64_t before)
{
  if (before > history->start) {
    history->start = before < history->end ? before : history->end;
  }
}

uint64_t
sr_history_ring_start(const SrHistoryRing* const history)
{
  return history->start;
}

uint64_t
sr_history_ring_end(const SrHistoryRing* const history)
{
  return history->end;
}

const float*
sr_history_ring_at(const SrHistoryRing* const history, const uint64_t at, size_t* const count)
{
  if (at < history->start || at >= history->end || history->room == 0) {
    *count = 0;
    return NULL;
  }
  const size_t place = (size_t)(at % history->room);
  const uint64_t left = history->end - at;
  *count = history->room - place < left ? history->room - place : (size_t)left;
  return history->samples + place;
}
