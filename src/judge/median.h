// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_JUDGE_MEDIAN_H
#define SR_JUDGE_MEDIAN_H

#include <stddef.h>

/// The median of at least one value; changes their order. Of an even number it is the mean of the
/// middle two.
double sr_median(double* values, size_t count);

#endif // SR_JUDGE_MEDIAN_H
