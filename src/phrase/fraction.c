// SPDX-License-Identifier: GPL-3.0-or-later

#include "fraction.h"

static const SrFraction INVALID = {0, 0};

static int64_t
greatest_common_divisor(int64_t a, int64_t b)
{
  while (b) {
    const int64_t rest = a % b;
    a = b;
    b = rest;
  }
  return a < 0 ? -a : a;
}

SrFraction
sr_fraction(const int64_t numerator, const int64_t denominator)
{
  if (denominator == 0) {
    return INVALID;
  }
  const int64_t divisor = greatest_common_divisor(numerator, denominator);
  const int64_t sign = denominator < 0 ? -1 : 1;
  const SrFraction result = {sign * numerator / divisor, sign * denominator / divisor};
  if (result.denominator > SR_FRACTION_MOST || result.numerator > SR_FRACTION_MOST * INT64_C(8) ||
      result.numerator < -SR_FRACTION_MOST * INT64_C(8)) {
    return INVALID;
  }
  return result;
}

bool
sr_fraction_valid(const SrFraction fraction)
{
  return fraction.denominator > 0;
}

SrFraction
sr_fraction_add(const SrFraction a, const SrFraction b)
{
  if (!sr_fraction_valid(a) || !sr_fraction_valid(b)) {
    return INVALID;
  }
  // Denominators are below 2^30 and numerators below 2^33: each product fits, the sum may not
  const int64_t divisor = greatest_common_divisor(a.denominator, b.denominator);
  const int64_t scale_a = b.denominator / divisor;
  const int64_t scale_b = a.denominator / divisor;
  int64_t left = 0;
  int64_t right = 0;
  int64_t sum = 0;
  if (__builtin_mul_overflow(a.numerator, scale_a, &left) ||
      __builtin_mul_overflow(b.numerator, scale_b, &right) ||
      __builtin_add_overflow(left, right, &sum)) {
    return INVALID;
  }
  return sr_fraction(sum, a.denominator * scale_a);
}

SrFraction
sr_fraction_subtract(const SrFraction a, const SrFraction b)
{
  const SrFraction negative = {-b.numerator, b.denominator};
  return sr_fraction_add(a, negative);
}

SrFraction
sr_fraction_multiply(const SrFraction a, const SrFraction b)
{
  if (!sr_fraction_valid(a) || !sr_fraction_valid(b)) {
    return INVALID;
  }
  const SrFraction left = sr_fraction(a.numerator, b.denominator);
  const SrFraction right = sr_fraction(b.numerator, a.denominator);
  int64_t numerator = 0;
  int64_t denominator = 0;
  if (__builtin_mul_overflow(left.numerator, right.numerator, &numerator) ||
      __builtin_mul_overflow(left.denominator, right.denominator, &denominator)) {
    return INVALID;
  }
  return sr_fraction(numerator, denominator);
}

int
sr_fraction_compare(const SrFraction a, const SrFraction b)
{
  // Both products fit, though the difference may not as a fraction
  const int64_t left = a.numerator * b.denominator;
  const int64_t right = b.numerator * a.denominator;
  return (left > right) - (left < right);
}

double
sr_fraction_value(const SrFraction fraction)
{
  return (double)fraction.numerator / (double)fraction.denominator;
}
