// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_finder.c
   Finds a click in a recording made elsewhere: what recurs with one period, the same to a fraction
   of a millisecond, is no player. The transients (transients.h) are correlated with themselves; the
   period whose multiples stand out most, and the phase on which all pairs of periods agree, are
   tried as a click, each one searched within 2 ms by its likeness to the mean of the others.

   A reed that speaks in the same way on each beat, as in a tune from a machine, is alike only where
   the same note comes. So clicks count only if those among different notes are alike too. Two
   sounds in turn show as a period of two clicks, which is then divided (parts_of()). The result is
   what the click remover searches for; src/session/found_click.c decides how many pulses lie from
   click to click, and whether the clicks are only notes. Whether the player keeps to the click
   makes no difference to finding it (sets `there` and `apart` of
   tests/accuracy/test_found_click.c).
*/

#include "click_grid.h"
#include "recurrence.h"
#include "simd.h"
#include "tuning.h"

#include <steadyreed/click.h>

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Periods among which one is the best.
#define COMB_PART 512u

struct SrClickFinderImpl {
  double rate_hz;
  SrTransients* transients; ///< NULL once finished
  float* sounds;            ///< Plain, accented
  double* times;            ///< Of each click found
};

/// How long before their times the clicks begin, samples; 0 if out of memory.
static double
find_onset(const SrClickSearch* const s, const SrClickGrid* const grid)
{
  const size_t reach = (size_t)(ONSET_REACH_S * s->rate_hz);
  const size_t quiet = (size_t)(QUIET_S * s->rate_hz);
  const size_t behind = (size_t)(SR_CLICK_BEHIND_S * s->rate_hz);
  const size_t smooth = (size_t)(CLICK_FINDER_SMOOTH_S * s->rate_hz) + 1;
  const size_t count = quiet + reach + behind;
  double* const course = (double*)calloc(count, sizeof(double));
  if (!course) {
    return 0.0;
  }
  // Over all expected clicks: each may be masked by a note that starts with it
  for (size_t k = s->first_there; k <= s->last_there; ++k) {
    const long start = lround(grid->first + (double)k * grid->period) - (long)(reach + quiet);
    for (size_t i = 0; i < count; ++i) {
      course[i] += (double)sr_click_sample(s, start + (long)i);
    }
  }
  double sum = 0.0;
  for (size_t i = 0; i < count; ++i) {
    course[i] *= course[i];
  }
  // Mean over the samples that follow each one
  for (size_t i = 0; i < count; ++i) {
    sum = 0.0;
    for (size_t j = i; j < i + smooth && j < count; ++j) {
      sum += course[j];
    }
    course[i] = sqrt(sum / (double)smooth);
  }
  double before = 0.0;
  for (size_t i = 0; i < quiet; ++i) {
    before = fmax(before, course[i]);
  }
  double most = 0.0;
  for (size_t i = quiet; i < count; ++i) {
    most = fmax(most, course[i]);
  }
  const double least = fmax(ONSET_SHARE * most, ONSET_OVER * before);
  size_t onset = quiet;
  while (onset + 1 < quiet + reach && course[onset] < least) {
    ++onset;
  }
  double risen = 0.0;
  const size_t rise = onset + (size_t)(RISE_S * s->rate_hz);
  for (size_t i = onset; i < rise && i < count; ++i) {
    risen = fmax(risen, course[i]);
  }
  while (onset + 1 < count && course[onset] < HALF_POWER * risen) {
    ++onset;
  }
  free(course);
  return (double)(quiet + reach) - (double)(onset + smooth);
}

/// Mean correlation of what follows each click by `offset` with the same a period later.
static double
alike_behind(const SrClickSearch* const s, const double offset)
{
  double sum = 0.0;
  size_t count = 0;
  for (size_t k = 0; k + 1 < s->found_count; ++k) {
    if (s->found[k].there && s->found[k + 1].there) {
      const SrFoundClick a = {.at = s->found[k].at + offset};
      const SrFoundClick b = {.at = s->found[k + 1].at + offset};
      sum += sr_click_alike(s, &a, &b);
      ++count;
    }
  }
  return count ? sum / (double)count : 0.0;
}

/// The number of even parts into which clicks, perhaps with another sound, divide the period; 1 if
/// there are none.
static unsigned
parts_of(const SrClickSearch* const s, const SrClickGrid* const grid)
{
  static const unsigned most = 8;
  const double whole = alike_behind(s, 0.0);
  for (unsigned parts = most; parts > 1; --parts) {
    double least = 1.0;
    for (unsigned i = 1; i < parts; ++i) {
      least = fmin(least, alike_behind(s, grid->period * (double)i / (double)parts));
    }
    if (grid->period / (double)parts > CLICK_FINDER_LEAST_PERIOD_S * s->rate_hz &&
        least > PART_ALIKE * whole) {
      return parts;
    }
  }
  return 1;
}

/// The height of each period, and the best of each part of them, since the best of all is looked
/// for again and again.
typedef struct {
  float* values;
  size_t places;
  size_t* best; ///< The place of the highest value in each COMB_PART
} Comb;

/// Find the best of each part between two places.
static void
find_best(const Comb* const comb, const size_t from, const size_t to)
{
  for (size_t part = from / COMB_PART; part * COMB_PART < to; ++part) {
    const size_t first = part * COMB_PART;
    const size_t end = first + COMB_PART < comb->places ? first + COMB_PART : comb->places;
    size_t best = first;
    for (size_t i = first + 1; i < end; ++i) {
      best = comb->values[i] > comb->values[best] ? i : best;
    }
    comb->best[part] = best;
  }
}

/// The first place of the highest value.
static size_t
best_of(const Comb* const comb)
{
  size_t best = comb->best[0];
  for (size_t part = 1; part * COMB_PART < comb->places; ++part) {
    best = comb->values[comb->best[part]] > comb->values[best] ? comb->best[part] : best;
  }
  return best;
}

/// Search one block for clicks by its periodicity.
static bool
search_block(SrClickSearch* const s, const size_t start, const size_t count,
             SrClickGrid* const grid, bool* const enough)
{
  const size_t most = (size_t)(MOST_LAG_S * s->rate_hz);
  const size_t lags = count / 2 < most ? count / 2 : most;
  const size_t from = (size_t)(CLICK_FINDER_LEAST_PERIOD_S * s->rate_hz);
  const size_t longest = (size_t)(MOST_PERIOD_S * s->rate_hz);
  const size_t to = lags < longest ? lags : longest;
  if (to < 2 * from) {
    return false;
  }
  float* const c = (float*)malloc(lags * sizeof(float));
  *enough = c != NULL;
  bool is = false;
  if (c && sr_recurrence(s->y + start, count, c, lags)) {
    const size_t places = CLICK_FINDER_STEPS * (to - from);
    Comb comb = {.places = places, .values = (float*)malloc(places * sizeof(float))};
    comb.best = (size_t*)malloc((places / COMB_PART + 1) * sizeof(size_t));
    *enough = comb.values && comb.best;
    double squares = 0.0;
    if (*enough) {
      sr_recurrence_combs(c, lags, from, to, comb.values);
      find_best(&comb, 0, places);
    }
    for (size_t i = 0; *enough && i < places; ++i) {
      squares += (double)(comb.values[i] * comb.values[i]);
    }
    const float deviation = (float)sqrt(squares / (double)places);
    for (size_t k = 0; *enough && k < CLICK_FINDER_MOST_LAGS && !is; ++k) {
      const size_t best = best_of(&comb);
      if (comb.values[best] < (float)LEAST_HEIGHT * deviation) {
        break;
      }
      *grid = (SrClickGrid){.period = (double)from + (double)best / CLICK_FINDER_STEPS};
      is = sr_click_try_period(s, start, count, grid);
      // Neighbouring periods are the same
      const size_t beside = (size_t)(BESIDE_LAG_S * s->rate_hz) * CLICK_FINDER_STEPS;
      const size_t first = best > beside ? best - beside : 0;
      const size_t end = best + beside < places ? best + beside : places;
      memset(comb.values + first, 0, (end - first) * sizeof(float));
      find_best(&comb, first, end);
    }
    free(comb.values);
    free(comb.best);
  }
  free(c);
  return is;
}

SrStatus
sr_click_finder_new(const double rate_hz, SrClickFinder** const finder, SrError* const error)
{
  *finder = NULL;
  SrClickFinder* const f = (SrClickFinder*)calloc(1, sizeof(SrClickFinder));
  if (f) {
    f->rate_hz = rate_hz;
    f->transients = sr_transients_new(rate_hz, SEARCHED_S);
  }
  if (!f || !f->transients) {
    sr_click_finder_del(f);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to look for clicks.");
  }
  *finder = f;
  return SR_OK;
}

void
sr_click_finder_del(SrClickFinder* const finder)
{
  if (finder) {
    sr_transients_del(finder->transients);
    free(finder->sounds);
    free(finder->times);
    free(finder);
  }
}

void
sr_click_finder_push(SrClickFinder* const finder, const float* const samples, const size_t count)
{
  if (finder->transients) {
    sr_transients_push(finder->transients, samples, count);
  }
}

/// Add the sound `offset` after each click, starting `lead` before it, at the rate of the
/// recording.
static void
add_sound(const SrClickSearch* const s, const SrClickGrid* const grid, const double offset,
          const double lead, const double step, float* const sound, const size_t count)
{
  for (size_t k = s->first_there; k <= s->last_there; ++k) {
    const double from = grid->first + (double)k * grid->period + offset - lead;
    for (size_t i = 0; i < count; ++i) {
      const double at = from + (double)i * step;
      const double whole = floor(at);
      const float part = (float)(at - whole);
      sound[i] += (1.0f - part) * sr_click_sample(s, (long)whole) +
                  part * sr_click_sample(s, (long)whole + 1);
    }
  }
}

/// Fill the result; the sounds are missing if out of memory.
static void
report(SrClickFinder* const finder, const SrClickSearch* const s, const SrClickGrid* const grid,
       SrClickFound* const found)
{
  const double scale = finder->rate_hz / s->rate_hz;
  const unsigned parts = parts_of(s, grid);
  const double early = find_onset(s, grid);
  const double lead = early + CLICK_FINDER_LEAD_S * s->rate_hz;
  const size_t count = (size_t)(SOUND_S * finder->rate_hz);
  found->period = scale * grid->period / (double)parts;
  found->bar_clicks = parts > 1 ? parts : 0;
  finder->times = (double*)calloc(s->found_count + 1, sizeof(double));
  for (size_t k = 0; k < s->found_count; ++k) {
    if (s->found[k].there) {
      const double here = scale * (grid->first + (double)k * grid->period - early);
      found->first = found->count ? found->first : here;
      found->count += parts;
      if (finder->times) {
        finder->times[found->time_count++] = here;
      }
    }
  }
  assert(count > 0);
  finder->sounds = (float*)calloc(2 * count, sizeof(float));
  if (finder->sounds) {
    add_sound(s, grid, 0.0, lead, 1.0 / scale, finder->sounds + count, count);
    for (unsigned i = 1; i < parts; ++i) {
      add_sound(s, grid, grid->period * (double)i / (double)parts, lead, 1.0 / scale,
                finder->sounds, count);
    }
    if (parts == 1) {
      memcpy(finder->sounds, finder->sounds + count, count * sizeof(float));
    }
    for (size_t i = 0; i < 2 * count; ++i) {
      const double end = 1.0 - (double)(i % count) / (double)count;
      finder->sounds[i] *= (float)fmin(1.0, end / FADED);
    }
    found->plain = finder->sounds;
    found->accent = finder->sounds + count;
    found->sound_count = count;
    found->lead = CLICK_FINDER_LEAD_S * finder->rate_hz;
    found->times = finder->times;
  }
}

SrStatus
sr_click_finder_finish(SrClickFinder* const finder, SrClickFound* const found)
{
  *found = (SrClickFound){.count = 0, .period = (double)NAN, .first = (double)NAN};
  if (!finder->transients) {
    return SR_OK;
  }
  sr_transients_finish(finder->transients);
  SrClickSearch s = {.rate_hz = sr_transients_rate_hz(finder->transients),
                     .transients = finder->transients};
  s.y = sr_transients_samples(finder->transients, &s.count);
  found->searched = (double)s.count * finder->rate_hz / s.rate_hz;
  s.before = (size_t)(CLICK_FINDER_BEFORE_S * s.rate_hz);
  s.shifts = 2 * (size_t)(SEARCH_S * s.rate_hz) + 3;
  const size_t longest = sr_vector_padded(s.before + (size_t)(SR_CLICK_BEHIND_S * s.rate_hz));
  s.shape = sr_vector_new(longest);
  s.others = sr_vector_new(longest);
  s.around = sr_vector_new(longest + s.shifts);
  s.like = sr_vector_new(s.shifts);
  s.zeros = sr_vector_new(longest);
  bool enough = s.shape && s.others && s.around && s.like && s.zeros;
  for (size_t i = 0; i < SR_CLICKS_TOGETHER; ++i) {
    s.copies[i] = sr_vector_new(longest);
    enough = enough && s.copies[i];
  }
  const size_t block = (size_t)(BLOCK_S * s.rate_hz);
  bool is = false;
  SrClickGrid grid = {0};
  for (size_t start = 0; enough && !is && start < s.count; start += block) {
    size_t count = s.count - start < 2 * block ? s.count - start : block;
    is = search_block(&s, start, count, &grid, &enough);
    if (count > block) {
      break;
    }
  }
  if (is) {
    report(finder, &s, &grid, found);
    enough = finder->sounds && finder->times;
  }
  free(s.shape);
  free(s.others);
  free(s.around);
  free(s.like);
  free(s.zeros);
  for (size_t i = 0; i < SR_CLICKS_TOGETHER; ++i) {
    free(s.copies[i]);
  }
  free(s.found);
  sr_transients_del(finder->transients);
  finder->transients = NULL;
  return enough ? SR_OK : SR_NO_MEMORY;
}
