// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file align_memory.c
   An alignment kept from one look to the next, so that only the new sounds are aligned.
*/

#include "align_states.h"

#include "tuning.h"

#include <math.h>
#include <stdlib.h>

static bool
same(const double one, const double other)
{
  return isnan(one) ? isnan(other) : one <= other && one >= other;
}

bool
sr_align_same_event(const SrEvent* const one, const SrEvent* const other)
{
  return one->kind == other->kind && one->midi == other->midi &&
         same(one->onset_s, other->onset_s) && same(one->end_s, other->end_s) &&
         same(one->frequency_hz, other->frequency_hz) && same(one->level_db, other->level_db) &&
         same(one->fall_db, other->fall_db) && same(one->phase_kept, other->phase_kept) &&
         same(one->fit, other->fit) && one->sounding == other->sounding;
}

SrAlignMemory*
sr_align_memory_new(void)
{
  return (SrAlignMemory*)calloc(1, sizeof(SrAlignMemory));
}

void
sr_align_memory_clear(SrAlignMemory* const memory)
{
  free(memory->events);
  free(memory->under);
  free(memory->steps);
  free(memory->rows);
  free(memory->first_times);
  memory->first_times = NULL;
  memory->events = NULL;
  memory->under = NULL;
  memory->steps = NULL;
  memory->rows = NULL;
  memory->room = 0;
  memory->count = 0;
  memory->oldest = 0;
}

void
sr_align_memory_del(SrAlignMemory* const memory)
{
  if (memory) {
    sr_align_memory_clear(memory);
    free(memory);
  }
}

/// For each note the last one before it at the same place in a bar of the same number, -1 if none;
/// NULL if out of memory.
static int*
find_first_times(const SrAligner* const a)
{
  int* const first_times = (int*)malloc(a->notes * sizeof(int));
  for (size_t n = 0; first_times && n < a->notes; ++n) {
    const SrPhraseNote* const note = sr_phrase_note(a->phrase, n);
    const double place = sr_fraction_value(note->in_bar);
    first_times[n] = (int)n - 1;
    while (first_times[n] >= 0) {
      const SrPhraseNote* const other = sr_phrase_note(a->phrase, (size_t)first_times[n]);
      if (other->bar == note->bar && fabs(sr_fraction_value(other->in_bar) - place) < 1e-9) {
        break;
      }
      --first_times[n];
    }
  }
  return first_times;
}

bool
sr_align_memory_open(SrAlignMemory* const m, const SrAligner* const a)
{
  const double held_db = a->settings->joined_fall_db;
  if (m->phrase != a->phrase || m->states != a->states || !same(m->likely_bpm, a->likely_bpm) ||
      !same(m->joined_fall_db, held_db) || m->below != a->below) {
    sr_align_memory_clear(m);
    m->phrase = a->phrase;
    m->below = a->below;
    m->likely_bpm = a->likely_bpm;
    m->joined_fall_db = held_db;
    m->states = a->states;
  }
  if (!m->rows) {
    m->rows = (SrAlignCell*)malloc(ROWS * a->states * sizeof(SrAlignCell));
  }
  if (!m->first_times) {
    m->first_times = find_first_times(a);
  }
  if (a->count > m->room) {
    const size_t room = a->count + a->count / 2 + 16;
    SrEvent* const events = (SrEvent*)realloc(m->events, room * sizeof(SrEvent));
    m->events = events ? events : m->events;
    unsigned char* const under = (unsigned char*)realloc(m->under, room);
    m->under = under ? under : m->under;
    SrAlignStep* const steps =
        (SrAlignStep*)realloc(m->steps, room * a->states * sizeof(SrAlignStep));
    m->steps = steps ? steps : m->steps;
    if (!events || !under || !steps) {
      return false;
    }
    m->room = room;
  }
  return m->rows && m->first_times;
}

SrAlignCell*
sr_align_row_after(const SrAlignMemory* const m, const size_t sounds)
{
  return m->rows + sounds % ROWS * m->states;
}
