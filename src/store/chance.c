// SPDX-License-Identifier: GPL-3.0-or-later

#include "chance.h"

#include <math.h>
#include <stdlib.h>

/// Tables within this share of the chance of the one found count as equally likely.
#define EQUAL 1e-7
/// Largest correlation of a value with the next that is reckoned with.
#define MOST_ALIKE 0.8

/// Logarithm of the number of ways to choose `some` of `of`.
static double
log_ways(const unsigned of, const unsigned some)
{
  return lgamma((double)of + 1.0) - lgamma((double)some + 1.0) - lgamma((double)(of - some) + 1.0);
}

double
sr_chance_shares(const SrShare one, const SrShare other)
{
  const unsigned some = one.some + other.some;
  const unsigned of = one.of + other.of;
  if (!one.of || !other.of) {
    return 1.0;
  }
  const double all = log_ways(of, some);
  const double found = log_ways(one.of, one.some) + log_ways(other.of, other.some) - all;
  const unsigned least = some > other.of ? some - other.of : 0;
  const unsigned most = some < one.of ? some : one.of;
  double sum = 0.0;
  for (unsigned i = least; i <= most; ++i) {
    const double chance = log_ways(one.of, i) + log_ways(other.of, some - i) - all;
    sum += chance <= found + EQUAL ? exp(chance) : 0.0;
  }
  return fmin(1.0, sum);
}

static int
compare(const void* const left, const void* const right)
{
  const double a = *(const double*)left;
  const double b = *(const double*)right;
  return (a > b) - (a < b);
}

/// Sums for the correlation of each value with the next, about the mean.
static void
add_next(const double* const values, const size_t count, double* const products,
         double* const squares)
{
  double mean = 0.0;
  for (size_t i = 0; i < count; ++i) {
    mean += values[i] / (double)count;
  }
  for (size_t i = 0; i < count; ++i) {
    *squares += (values[i] - mean) * (values[i] - mean);
    *products += i + 1 < count ? (values[i] - mean) * (values[i + 1] - mean) : 0.0;
  }
}

/// By how much values that follow each other alike increase the variance of their mean.
static double
inflation(const double* const one, const size_t one_count, const double* const other,
          const size_t other_count)
{
  double products = 0.0;
  double squares = 0.0;
  add_next(one, one_count, &products, &squares);
  add_next(other, other_count, &products, &squares);
  const double r = squares > 0.0 ? fmax(0.0, fmin(MOST_ALIKE, products / squares)) : 0.0;
  return (1.0 + r) / (1.0 - r);
}

double
sr_chance_ranks(double* const one, const size_t one_count, double* const other,
                const size_t other_count)
{
  if (one_count < SR_CHANCE_LEAST || other_count < SR_CHANCE_LEAST) {
    return (double)NAN;
  }
  const double inflated = inflation(one, one_count, other, other_count);
  qsort(one, one_count, sizeof(double), compare);
  qsort(other, other_count, sizeof(double), compare);
  const double n = (double)one_count;
  const double m = (double)other_count;
  const double all = n + m;
  double rank_sum = 0.0; // Of the first sample
  double ties = 0.0;
  size_t i = 0;
  size_t j = 0;
  while (i < one_count || j < other_count) {
    const double value =
        j == other_count || (i < one_count && one[i] <= other[j]) ? one[i] : other[j];
    const size_t before = i + j;
    size_t mine = 0;
    for (; i < one_count && one[i] <= value; ++i) {
      ++mine;
    }
    for (; j < other_count && other[j] <= value; ++j) {
    }
    const double equal = (double)(i + j - before);
    rank_sum += (double)mine * ((double)before + 0.5 * (equal + 1.0));
    ties += equal * (equal * equal - 1.0);
  }
  const double u = rank_sum - 0.5 * n * (n + 1.0);
  const double variance = inflated * n * m / 12.0 * (all + 1.0 - ties / (all * (all - 1.0)));
  const double far = fabs(u - 0.5 * n * m) - 0.5;
  return variance > 0.0 && far > 0.0 ? erfc(far / sqrt(2.0 * variance)) : 1.0;
}

/// A value and where it stood.
typedef struct {
  double value;
  size_t place;
} Placed;

static int
compare_placed(const void* const left, const void* const right)
{
  return compare(&((const Placed*)left)->value, &((const Placed*)right)->value);
}

bool
sr_chance_rank(const double* const values, const size_t count, double* const ranks)
{
  Placed* const placed = (Placed*)calloc(count + 1, sizeof(Placed));
  if (!placed) {
    return false;
  }
  for (size_t i = 0; i < count; ++i) {
    placed[i] = (Placed){values[i], i};
  }
  qsort(placed, count, sizeof(Placed), compare_placed);
  for (size_t from = 0, to = 0; from < count; from = to) {
    while (to < count && placed[to].value <= placed[from].value) {
      ++to;
    }
    for (size_t i = from; i < to; ++i) {
      ranks[placed[i].place] = 0.5 * (double)(from + 1 + to);
    }
  }
  free(placed);
  return true;
}
