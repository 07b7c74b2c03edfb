// SPDX-License-Identifier: GPL-3.0-or-later

// Pitch and phase of a reed from block to block: whether it continued under a cut or re-attacked.
//
// How far a note fell before it came again says little in a live room, whose tail decays as slowly
// as a held reed. So each event also says whether its phase went on (phase_kept); that of a
// released reed does not.

#include "reeds.h"

double
sr_reed_frequency_of(const SrSoundFinder* const f, const size_t p, const double turns[MEASURED][2])
{
  const Reed* const reed = &f->reeds[p];
  if (reed->frames < 8.0) {
    return NAN;
  }
  const double nominal = sr_profile_frequency_hz(f->profile, p);
  const double lag_s = sr_reed_frame_time(f, (double)LAG);
  double sum = 0.0;
  double weights = 0.0;
  for (size_t k = 0; k < MEASURED; ++k) {
    const double real = turns[k][0];
    const double imaginary = turns[k][1];
    const double number = (double)(k + 1);
    const double expected = 2.0 * M_PI * nominal * number * lag_s;
    const double turned = atan2(imaginary, real);
    const double off = remainder(turned - expected, 2.0 * M_PI);
    const double hz = off / (2.0 * M_PI * lag_s) / number;
    const double weight = hypot(real, imaginary) * number * number;
    sum += weight * hz;
    weights += weight;
  }
  return weights > 0.0 ? nominal + sum / weights : (double)NAN;
}

double
sr_reed_mean_frequency(const SrSoundFinder* const f, const size_t p)
{
  return sr_reed_frequency_of(f, p, f->reeds[p].turn);
}

/// The same, or the nominal frequency while too little has been heard.
static double
mean_or_nominal(const SrSoundFinder* const f, const size_t p)
{
  const double mean = sr_reed_mean_frequency(f, p);
  return isfinite(mean) ? mean : sr_profile_frequency_hz(f->profile, p);
}

/// By how much each harmonic turned between two marks.
typedef struct {
  double step_s; ///< Time between them
  double real[PHASES];
  double imaginary[PHASES];
  double strength[PHASES];
  double most; ///< Of the strengths
} Turned;

static Turned
turned_between(const SrSoundFinder* const f, const Mark* const a, const Mark* const b)
{
  Turned t = {.step_s = sr_reed_frame_time(f, (double)(b->frame - a->frame))};
  for (size_t k = 0; k < PHASES; ++k) {
    t.real[k] = (double)(b->value[k][0] * a->value[k][0] + b->value[k][1] * a->value[k][1]);
    t.imaginary[k] = (double)(b->value[k][1] * a->value[k][0] - b->value[k][0] * a->value[k][1]);
    t.strength[k] = hypot(t.real[k], t.imaginary[k]);
    t.most = fmax(t.most, t.strength[k]);
  }
  return t;
}

/**
   Agreement of phases at a frequency: the mean cosine over the harmonics that are strong enough.
   All have the same weight, since a reed that restarts elsewhere in its period turns each harmonic
   by a different angle.
*/
static double
agreement(const Turned* const t, const double hz)
{
  double sum = 0.0;
  double count = 0.0;
  for (size_t k = 0; k < PHASES; ++k) {
    if (t->strength[k] > PHASE_SHARE * t->most) {
      const double turn = 2.0 * M_PI * hz * (double)(k + 1) * t->step_s;
      sum += (t->real[k] * cos(turn) + t->imaginary[k] * sin(turn)) / t->strength[k];
      count += 1.0;
    }
  }
  return count > 0.0 ? sum / count : (double)NAN;
}

/// The best agreement over a small bend of pitch.
static double
best_agreement(const SrSoundFinder* const f, const Mark* const a, const Mark* const b,
               const double hz)
{
  const Turned turned = turned_between(f, a, b);
  double best = -1.0;
  for (int step = -3; step <= 3; ++step) {
    const double bent = hz * exp2(PHASE_CENTS * step / 3.0 / 1200.0);
    best = fmax(best, agreement(&turned, bent));
  }
  return best;
}

double
sr_reed_phase_kept(const SrSoundFinder* const f, const Reed* const reed, const double after_hz)
{
  if (reed->before.frame == 0 || reed->after.frame == 0 || !isfinite(after_hz)) {
    return (double)NAN;
  }
  const bool known = isfinite(reed->before_hz) && reed->before_hz > 0.0;
  const double hz = known ? 0.5 * (reed->before_hz + after_hz) : after_hz;
  return best_agreement(f, &reed->before, &reed->after, hz);
}

void
sr_reed_ask_for_checks(SrSoundFinder* const f, const size_t cut, const int64_t from,
                       const int64_t end)
{
  if (end - from > MOST_CUT) {
    return;
  }
  for (size_t p = sr_reed_first_grace(cut); p < sr_reed_last_grace(cut); ++p) {
    Reed* const reed = &f->reeds[p];
    const size_t kept = reed->trail_count < TRAIL ? reed->trail_count : TRAIL;
    const bool above = p < cut && cut - p <= SR_GRACE_MOST_STEP;
    if (reed->state == SILENT || reed->begin > from - TRAIL_FROM ||
        !(above || sr_reed_is_grace_of(f, cut, p))) {
      continue;
    }
    for (size_t i = 1; i <= kept; ++i) {
      const Mark* const mark = &reed->trail[(reed->trail_count - i) % TRAIL];
      if (mark->frame < from - 2) {
        reed->check = *mark;
        reed->check_from = from;
        reed->check_at = end + CHECK_AFTER;
        break;
      }
    }
  }
}

/// The clear mark nearest before the last one at the least distance; NULL if none.
static const Mark*
earlier_mark(const Reed* const reed)
{
  const Mark* const last = &reed->trail[(reed->trail_count - 1) % TRAIL];
  const size_t kept = reed->trail_count < TRAIL ? reed->trail_count : TRAIL;
  for (size_t i = 2; i <= kept; ++i) {
    const Mark* const mark = &reed->trail[(reed->trail_count - i) % TRAIL];
    if (last->frame - mark->frame >= TRAIL_LEAST) {
      return last->frame - mark->frame <= TRAIL_MOST ? mark : NULL;
    }
  }
  return NULL;
}

bool
sr_reed_has_broken(SrSoundFinder* const f, const size_t p)
{
  Reed* const reed = &f->reeds[p];
  const Mark* const last = reed->trail_count ? &reed->trail[(reed->trail_count - 1) % TRAIL] : NULL;
  if (!last || last->frame != f->frame) {
    return false;
  }
  const Mark* const earlier = earlier_mark(reed);
  if (!earlier) {
    reed->breaks = 0;
    return false;
  }
  const double hz = mean_or_nominal(f, p);
  reed->breaks = best_agreement(f, earlier, last, hz) < BROKEN ? reed->breaks + 1 : 0;
  return reed->breaks >= BREAKS;
}

/// End a sound at an earlier frame and restart it there.
static void
part_at(SrSoundFinder* const f, const size_t p, const int64_t frame, const double fall_db,
        const Mark* const before, const Mark* const after)
{
  Reed* const reed = &f->reeds[p];
  const Mark old_mark = *before;
  const Mark new_mark = *after;
  sr_reed_end_sound(f, p, frame);
  sr_reed_begin(f, p, fall_db);
  reed->begin = frame + 1;
  reed->before = old_mark;
  reed->after = new_mark;
  for (int64_t i = frame; i <= f->frame; ++i) {
    reed->hold = fmaxf(reed->hold, sr_reed_at(f, p, i));
  }
  reed->peak = reed->hold;
}

void
sr_reed_part_at_break(SrSoundFinder* const f, const size_t p)
{
  Reed* const reed = &f->reeds[p];
  const Mark after = reed->trail[(reed->trail_count - 1) % TRAIL];
  const Mark* const earlier = earlier_mark(reed);
  const Mark before = earlier ? *earlier : after;
  int64_t lowest = before.frame;
  float top = 0.0f;
  for (int64_t i = before.frame; i <= after.frame; ++i) {
    lowest = sr_reed_at(f, p, i) < sr_reed_at(f, p, lowest) ? i : lowest;
  }
  for (int64_t i = before.frame; i <= lowest; ++i) {
    top = fmaxf(top, sr_reed_at(f, p, i));
  }
  const double fall = top > 0.0f ? sr_reed_seen_fall(top, sr_reed_at(f, p, lowest)) : 0.0;
  reed->breaks = 0;
  if (fall < LEAST_BREAK_DB || lowest <= reed->begin + TRAIL_FROM) {
    return;
  }
  part_at(f, p, lowest, fall, &before, &after);
}

bool
sr_reed_check_under_cut(SrSoundFinder* const f, const size_t p)
{
  Reed* const reed = &f->reeds[p];
  const Mark* const last = reed->trail_count ? &reed->trail[(reed->trail_count - 1) % TRAIL] : NULL;
  if (reed->check.frame == 0 || f->frame < reed->check_at || !last || last->frame != f->frame) {
    return false;
  }
  const Mark before = reed->check;
  const Mark after = *last;
  const int64_t from = reed->check_from;
  const int64_t to = reed->check_at - CHECK_AFTER + 8;
  reed->check.frame = 0;
  if (after.frame - before.frame > 2 * (int64_t)TRAIL_MOST) {
    return false;
  }
  const double hz = mean_or_nominal(f, p);
  if (best_agreement(f, &before, &after, hz) > CUT_BROKEN) {
    return false;
  }
  int64_t lowest = from;
  float top = sr_reed_at(f, p, before.frame);
  for (int64_t i = from; i <= to && i <= f->frame; ++i) {
    lowest = sr_reed_at(f, p, i) < sr_reed_at(f, p, lowest) ? i : lowest;
  }
  const double fall = top > 0.0f ? sr_reed_seen_fall(top, sr_reed_at(f, p, lowest)) : 0.0;
  if (fall < LEAST_BREAK_DB) {
    return false;
  }
  part_at(f, p, lowest, fall, &before, &after);
  return true;
}
