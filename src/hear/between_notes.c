// SPDX-License-Identifier: GPL-3.0-or-later

// Written cuts that sound while their note is silent.
//
// A cut is little more than the attack of a reed: bent, nearly pure, softer than the note that
// sounded just before. By itself such a sound must be refused. It is accepted where a note is
// silent for a moment and a cut above it is written (SrExpected.cuts), or where a written cut leads
// into a note that did not sound before, once that has proven to be a note (LED_IN_FIT): otherwise
// speech would make cuts too. The figures are at BETWEEN_SHARE in tuning.h.
//
// Tried and given up: a growth of 0.1 instead of 0.15 of the note, which gave more false graces
// than true ones.

#include "reeds.h"

bool
sr_reed_is_grace_of(const SrSoundFinder* const f, const size_t q, const size_t p)
{
  const unsigned* const graces = q > p ? f->expected.cuts : f->expected.strikes;
  const size_t step = q > p ? q - p : p - q;
  // Not an octave: its note's own start may look like it
  return step > 0 && step < 16 && step != 12 && ((graces[p + SR_LOWEST_MIDI] >> step) & 1u);
}

size_t
sr_reed_first_grace(const size_t p)
{
  return p > 15 ? p - 15 : 0;
}

size_t
sr_reed_last_grace(const size_t p)
{
  return p + 16 < SR_PITCHES ? p + 16 : SR_PITCHES;
}

float
sr_reed_loudest_between(const SrSoundFinder* const f, const int64_t first, const int64_t last)
{
  float most = 0.0f;
  const int64_t oldest = last - (int64_t)SR_SOUND_MEMORY + 2;
  for (int64_t i = last; i >= 0 && i >= first && i >= oldest; --i) {
    const float loudest = f->loudest[(uint64_t)i % SR_SOUND_MEMORY];
    most = loudest > most ? loudest : most;
  }
  return most;
}

/// Report a cut that was not detected when it sounded: it was softer than a re-attack of a recent
/// reed must be.
static void
put_unnoticed(SrSoundFinder* const f, const size_t q, const int64_t from, const int64_t top)
{
  Reed* const reed = &f->reeds[q];
  const float most = sr_reed_at(f, q, top);
  int64_t first = top;
  while (first > from && sr_reed_at(f, q, first - 1) > LEAST_SHOWN * most) {
    --first;
  }
  int64_t last = top;
  while (last < f->frame && sr_reed_at(f, q, last + 1) > 0.5f * most) {
    ++last;
  }
  memset(reed, 0, sizeof(*reed));
  reed->begin = first;
  reed->hold = most;
  reed->peak = most;
  reed->fall_db = (double)NAN;
  for (int64_t i = first; i <= last; ++i) {
    const double amount = (double)sr_reed_at(f, q, i);
    reed->frames += 1.0;
    reed->amount_sum += amount;
    reed->total_sum += amount;
    reed->misfit_sum += (1.0 - SHORT_FIT) * amount;
    reed->power_sum += amount * amount * (double)f->unit_power[q];
  }
  const Stretch stretch = sr_reed_so_far(f, q);
  const Start start = sr_reed_measure_start(f, q, &stretch, SR_REFINE_UPDATES);
  const Ended ended = sr_reed_describe(f, q, sr_reed_onset_of(f, q, &start), last);
  reed->last_end = last;
  reed->last_hold = most;
  sr_reed_put(f, &ended.event);
}

int64_t
sr_reed_end_of_fall(const SrSoundFinder* const f, const size_t p)
{
  const Reed* const reed = &f->reeds[p];
  const float half = 0.5f * (reed->hold + reed->dip_least);
  int64_t frame = reed->dip_frame;
  while (frame > reed->begin && sr_reed_at(f, p, frame) < half) {
    --frame;
  }
  return frame;
}

void
sr_reed_look_between(SrSoundFinder* const f, const size_t p, const int64_t from,
                     const int64_t until, const float hold)
{
  if (f->reeds[p].refused || f->frame - from > MOST_CUT || hold < LOUD_SHARE * f->follow) {
    return;
  }
  for (size_t q = sr_reed_first_grace(p); q < sr_reed_last_grace(p); ++q) {
    Reed* const reed = &f->reeds[q];
    if (!sr_reed_is_grace_of(f, q, p)) {
      continue;
    }
    // Find the largest growth
    int64_t least = from - BETWEEN_FROM;
    int64_t bottom = least;
    int64_t top = least;
    for (int64_t i = least; i <= until; ++i) {
      least = sr_reed_at(f, q, i) < sr_reed_at(f, q, least) ? i : least;
      if (sr_reed_at(f, q, i) - sr_reed_at(f, q, least) >
          sr_reed_at(f, q, top) - sr_reed_at(f, q, bottom)) {
        bottom = least;
        top = i;
      }
    }
    // It must also exceed the earlier activation, unless the reed leads into another note and still
    // rings
    const bool rings = until < f->frame && reed->state == DIPPING;
    float before = sr_reed_at(f, q, bottom);
    for (int64_t i = from - BETWEEN_BEFORE; !rings && i < from - BETWEEN_FROM; ++i) {
      before = fmaxf(before, sr_reed_at(f, q, i));
    }
    if (!(sr_reed_at(f, q, top) - before > BETWEEN_SHARE * hold)) {
      continue;
    }
    const bool over = sr_reed_at(f, q, f->frame) < 0.5f * sr_reed_at(f, q, top);
    if (rings && reed->dip < bottom && over) {
      sr_reed_end_sound(f, q, sr_reed_end_of_fall(f, q));
    }
    if (reed->state != SILENT) {
      reed->between = reed->begin >= from - BETWEEN_BEFORE;
    } else if (reed->refused || reed->last_end <= bottom) {
      put_unnoticed(f, q, bottom, top);
    }
  }
}
