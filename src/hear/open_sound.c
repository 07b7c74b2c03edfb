// SPDX-License-Identifier: GPL-3.0-or-later

// State of the open sounds, for live use.

#include "reeds.h"

bool
sr_reed_sounds_on(const SrSoundFinder* const f, const size_t p)
{
  const Reed* const reed = &f->reeds[p];
  const float now = sr_reed_at(f, p, f->frame);
  const float earlier = sr_reed_at(f, p, f->frame - SOFTER_FRAMES);
  return reed->dip_least > SOFTER_SHARE * reed->hold && now > SOFTER_STEADY * earlier &&
         earlier > SOFTER_STEADY * now;
}

/// Whether a cut of a reed began when that was released, and is being released itself.
static bool
cut_lets_go(const SrSoundFinder* const f, const size_t p, const int64_t from)
{
  for (size_t q = sr_reed_first_grace(p); q < sr_reed_last_grace(p); ++q) {
    const Reed* const cut = &f->reeds[q];
    if (sr_reed_is_grace_of(f, q, p) && cut->begin >= from - BETWEEN_BEFORE &&
        cut->state != SOUNDING && !(cut->state == SILENT && cut->refused)) {
      return true;
    }
  }
  return false;
}

/// The present state of an open sound; false if it is none yet.
static bool
look_at(SrSoundFinder* const f, const size_t p, const int64_t least_seen, SrOpenSound* const open)
{
  Reed* const reed = &f->reeds[p];
  if (reed->state == SILENT || !(reed->frames > 0.0)) {
    return false;
  }
  // A note returning from under its cut was already seen while it rose
  const bool returned = isfinite(reed->fall_db) && cut_lets_go(f, p, reed->last_end);
  const int64_t since = f->frame - reed->begin;
  const int64_t seen = returned && since < least_seen ? least_seen : since;
  if (seen < least_seen) {
    return false;
  }
  if (!reed->settled && !reed->guessed) {
    Stretch stretch = sr_reed_so_far(f, p);
    const double half = sr_reed_measure_start(f, p, &stretch, ROUGH_UPDATES).half;
    stretch.sure = sr_reed_certainly(f, p, half);
    const Start start = sr_reed_measure_start(f, p, &stretch, SR_REFINE_UPDATES);
    reed->guess = sr_reed_onset_of(f, p, &start);
    reed->guessed = true;
  }
  const double onset = reed->settled ? reed->onset : reed->guess;
  const bool falling = reed->state == DIPPING;
  const Ended ended = sr_reed_describe(f, p, onset, falling ? sr_reed_end_of_fall(f, p) : f->frame);
  open->event = ended.event;
  open->seen_s = sr_reed_frame_time(f, (double)seen);
  open->falling_s = falling ? sr_reed_frame_time(f, (double)(f->frame - reed->dip)) : 0.0;
  open->fallen_db = falling ? sr_reed_seen_fall(reed->hold, sr_reed_at(f, p, f->frame)) : 0.0;
  // Its length is not yet known and no reason to drop it
  Ended longer = ended;
  longer.event.end_s = fmax(ended.event.end_s, ended.event.onset_s + 2.0 * SHORT_S);
  open->doubtful =
      !reed->between &&
      !sr_reed_is_sound(f, &longer, open->seen_s < STARTING_S ? STARTING_FIT : WRITTEN_FIT);
  return !open->doubtful ||
         (open->seen_s < DOUBTFUL_S && sr_reed_is_sound(f, &longer, DOUBTFUL_FIT));
}

/// A note that was released for its cut and is rising again, but is not yet loud enough for a
/// certain re-attack; false if there is none.
static bool
look_at_return(const SrSoundFinder* const f, const size_t p, const int64_t least_seen,
               SrOpenSound* const open)
{
  const Reed* const reed = &f->reeds[p];
  const bool dips = reed->state == DIPPING;
  const int64_t from = dips ? reed->dip : reed->last_end;
  const float hold = dips ? reed->hold : reed->last_hold;
  const bool was_none = !dips && reed->refused;
  if (reed->state == SOUNDING || was_none || !(reed->frames > 0.0) || f->frame - from > MOST_CUT ||
      hold < LOUD_SHARE * f->follow || !cut_lets_go(f, p, from)) {
    return false;
  }
  int64_t lowest = f->frame;
  while (lowest > from && sr_reed_at(f, p, lowest - 1) < sr_reed_at(f, p, lowest)) {
    --lowest;
  }
  const float now = sr_reed_at(f, p, f->frame);
  const float least = sr_reed_at(f, p, lowest);
  if (f->frame - lowest < least_seen + 1 || now < RETURN_RISEN * least ||
      now < RETURN_SHARE * hold) {
    return false;
  }
  int64_t onset = f->frame;
  while (onset > lowest && sr_reed_at(f, p, onset) * sr_reed_at(f, p, onset) > least * now) {
    --onset;
  }
  Ended ended = sr_reed_describe(f, p, (double)onset, f->frame);
  ended.event.fall_db = sr_reed_own_fall(f, p, hold, least, lowest - from);
  ended.event.phase_kept = (double)NAN;
  *open = (SrOpenSound){.event = ended.event,
                        .seen_s = sr_reed_frame_time(f, (double)(f->frame - lowest)),
                        .doubtful = true};
  return ended.event.fall_db >= LEAST_SPLIT_DB;
}

size_t
sr_sound_finder_open(SrSoundFinder* const f, const double least_seen_s, SrOpenSound* const open,
                     const size_t room)
{
  const int64_t least_seen = (int64_t)ceil(least_seen_s / sr_reed_frame_time(f, 1.0) - 1e-6);
  size_t count = 0;
  if (f->frame == 0) {
    return 0;
  }
  // As at the end of the last frame
  --f->frame;
  for (size_t p = 0; p < SR_PITCHES && count < room; ++p) {
    count += look_at(f, p, least_seen, &open[count]);
    count += count < room && look_at_return(f, p, least_seen, &open[count]);
  }
  ++f->frame;
  return count;
}
