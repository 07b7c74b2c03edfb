// SPDX-License-Identifier: GPL-3.0-or-later

// How far a reed has fallen, compared with the decay of the room.

#include "reeds.h"

double
sr_reed_seen_fall(const float hold, const float least)
{
  const double ratio = (double)least / (double)hold;
  return ratio < 1e-3 ? 60.0 : fmax(0.0, -sr_reed_decibels(ratio));
}

double
sr_reed_own_fall(const SrSoundFinder* const f, const size_t p, const float hold, const float least,
                 const int64_t frames)
{
  if (!(hold > 0.0f)) {
    return (double)NAN;
  }
  // The window fills a dip not much longer than itself, so only part of it is seen
  const double deeper = SMEARED * sr_reed_seen_fall(hold, least);
  if (frames < LEAST_DIP) {
    return deeper;
  }
  const int64_t half = frames / 2;
  const size_t place = (size_t)(half < SR_TAIL_FRAMES ? half : SR_TAIL_FRAMES - 1);
  // A steady tone interferes with its own reflections: what is left of it differs from pitch to
  // pitch
  const double own_weight = (double)f->own_tail_count[p];
  const double tail_db =
      (f->tail_db[place] + own_weight * (double)f->own_tail_db[p][place]) / (1.0 + own_weight);
  const double shown = 2.0 * pow(10.0, -tail_db / 10.0);
  const double ratio = (double)least / (double)hold;
  const double own = ratio * ratio - fmin(shown, MOST_SHOWN);
  const double taken_off = own > 1e-6 ? fmin(60.0, fmax(0.0, -10.0 * log10(own))) : 60.0;
  // In a live room almost nothing may be left after the subtraction. Then the fall counts as a
  // share of what a full release would show there, on a scale where that is 20 dB
  const double full = -10.0 * log10(fmin(shown, 0.9));
  const double share = full > LEAST_FULL_DB ? sr_reed_seen_fall(hold, least) / full : 0.0;
  const double least_own = frames < SHORT_DIP ? deeper : 0.0;
  return fmax(fmax(taken_off, least_own), fmin(20.0, 20.0 * share));
}

void
sr_reed_learn_tail(SrSoundFinder* const f, const size_t p)
{
  const Reed* const reed = &f->reeds[p];
  f->tail_count += f->tail_count < 12.0 ? 1.0 : 0.0;
  f->own_tail_count[p] += f->own_tail_count[p] < 6.0f ? 1.0f : 0.0f;
  double lowest = 0.0;
  for (size_t i = 0; i < SR_TAIL_FRAMES && reed->dip + (int64_t)i < f->frame; ++i) {
    lowest = fmax(lowest, sr_reed_seen_fall(reed->hold, sr_reed_at(f, p, reed->dip + (int64_t)i)));
    const double fall = fmin(lowest, 40.0);
    f->tail_db[i] += (fall - f->tail_db[i]) / f->tail_count;
    f->own_tail_db[p][i] += ((float)fall - f->own_tail_db[p][i]) / f->own_tail_count[p];
  }
}
