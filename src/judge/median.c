// SPDX-License-Identifier: GPL-3.0-or-later

#include "median.h"

/// Quickselect (Hoare 1961, algorithm 65): the value of a rank, from 0; lower ones end up before it
/// and higher ones after it.
static double
find_rank(double* const values, const size_t count, const size_t rank)
{
  size_t first = 0;
  size_t last = count - 1;
  while (first < last) {
    const double middle = values[rank];
    size_t i = first;
    size_t j = last;
    while (i <= j) {
      while (values[i] < middle) {
        ++i;
      }
      while (middle < values[j]) {
        --j;
      }
      if (i > j) {
        break;
      }
      const double swap = values[i];
      values[i++] = values[j];
      values[j] = swap;
      if (j == 0) {
        break;
      }
      --j;
    }
    if (j < rank) {
      first = i;
    }
    if (rank < i) {
      last = j;
    }
  }
  return values[rank];
}

double
sr_median(double* const values, const size_t count)
{
  const double upper = find_rank(values, count, count / 2);
  if (count % 2) {
    return upper;
  }
  double lower = values[0];
  for (size_t i = 1; i < count / 2; ++i) {
    lower = values[i] > lower ? values[i] : lower;
  }
  return 0.5 * (lower + upper);
}
