// SPDX-License-Identifier: GPL-3.0-or-later

// How likely chance makes two takes differ whose notes are alike within a round.

#include "chance.h"

#include <math.h>

/// The two takes.
#define TAKES 2u
/// Parts of the numerical integral; even.
#define PARTS 1000u
/// Degrees of freedom that the notes within the rounds add, where rounds differ no more than they
/// do. Found by trial: see noise_is_no_difference() in the tests.
#define NOTES_ADD 5.0

double
sr_chance_t(const double t, const double freedom)
{
  // With t = sqrt(freedom) * tan(angle), the density becomes a power of the cosine
  const double half_pi = acos(0.0);
  const double from = atan(fabs(t) / sqrt(freedom));
  const double step = (half_pi - from) / PARTS;
  double sum = 0.0;
  for (unsigned i = 0; i <= PARTS; ++i) {
    const double weight = i == 0 || i == PARTS ? 1.0 : i % 2 ? 4.0 : 2.0;
    sum += weight * pow(fmax(0.0, cos(from + step * i)), freedom - 1.0);
  }
  const double scale = exp(lgamma(0.5 * (freedom + 1.0)) - lgamma(0.5 * freedom));
  return fmin(1.0, 2.0 * scale / sqrt(2.0 * half_pi) * sum * step / 3.0);
}

/// Sums over the rounds of a take.
typedef struct {
  double count;   ///< Of values
  double rounds;  ///< That have any
  double mean;    ///< Of all values
  double within;  ///< Squares about the means of the rounds
  double between; ///< Squares of those means about that of the take, each times its values
} Sums;

static Sums
sum_up(const SrByRound* const take)
{
  Sums sums = {.count = 0.0};
  double all = 0.0;
  const double* values = take->values;
  for (size_t r = 0; r < take->rounds; values += take->counts[r++]) {
    const double count = (double)take->counts[r];
    double sum = 0.0;
    for (size_t i = 0; i < take->counts[r]; ++i) {
      sum += values[i];
    }
    for (size_t i = 0; i < take->counts[r]; ++i) {
      sums.within += (values[i] - sum / count) * (values[i] - sum / count);
    }
    sums.rounds += take->counts[r] ? 1.0 : 0.0;
    sums.between += take->counts[r] ? sum * sum / count : 0.0;
    sums.count += count;
    all += sum;
  }
  sums.mean = sums.count > 0.0 ? all / sums.count : (double)NAN;
  sums.between = fmax(0.0, sums.between - (sums.count > 0.0 ? all * sums.mean : 0.0));
  return sums;
}

double
sr_chance_rounds(const SrByRound takes[TAKES], double* const difference)
{
  const Sums one = sum_up(&takes[0]);
  const Sums other = sum_up(&takes[1]);
  *difference = other.mean - one.mean;
  const double rounds = one.rounds + other.rounds - 2.0;
  const double notes = one.count + other.count - one.rounds - other.rounds;
  if (!isfinite(*difference) || rounds < 1.0) {
    return (double)NAN;
  }
  const double between = (one.between + other.between) / rounds;
  const double within = notes > 0.0 ? (one.within + other.within) / notes : between;
  const double square = fmax(between, within);
  if (!(square > 0.0)) {
    return fabs(*difference) > 0.0 ? 0.0 : 1.0;
  }
  const double error = sqrt(square * (1.0 / one.count + 1.0 / other.count));
  const double alike = within / square;
  return sr_chance_t(*difference / error, rounds + NOTES_ADD * alike * alike);
}
