// SPDX-License-Identifier: GPL-3.0-or-later

#include "median.h"

#include <stdlib.h>

static int
compare_doubles(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

double
sr_median(double* const values, const size_t count)
{
  qsort(values, count, sizeof(double), compare_doubles);
  return count % 2 ? values[count / 2] : 0.5 * (values[count / 2 - 1] + values[count / 2]);
}
