// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_JUDGE_MEDIAN_H
#define SR_JUDGE_MEDIAN_H

#include <stddef.h>

/// The median of at least one value, the mean of the middle two for an even count; reorders them.
double sr_median(double* values, size_t count);

#endif // SR_JUDGE_MEDIAN_H
