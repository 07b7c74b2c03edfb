// SPDX-License-Identifier: GPL-3.0-or-later

// How likely chance alone makes two samples differ as much as they do.

#ifndef SR_STORE_CHANCE_H
#define SR_STORE_CHANCE_H

#include <stddef.h>

/// Fewest values of each sample for sr_chance_ranks(): its normal approximation is poor below that.
#define SR_CHANCE_LEAST 8u

/// Some of many.
typedef struct {
  unsigned some;
  unsigned of; ///< At least `some`
} SrShare;

/**
   Fisher's exact test, two-sided: the sum of the chances of all tables with the same sums that are
   no more likely than this one (Fisher 1935, "The Design of Experiments"; the two-sided rule as in
   R's fisher.test, from memory).

   @return 0 to 1; 1 if either share is of nothing.
*/
double sr_chance_shares(SrShare one, SrShare other);

/**
   Mann and Whitney's test (1947), two-sided: the normal approximation, with its variance corrected
   for ties and half a step of continuity. Values that follow each other alike say less than as many
   that do not: the variance is larger by (1 + r) / (1 - r), where r is the correlation of each
   value with the next in the two samples, if it is over 0 (Bartlett 1946, from memory).

   @param one, other Finite, in the order in which they came; sorted by this.
   @return 0 to 1; NAN with fewer than SR_CHANCE_LEAST values in either sample.
*/
double sr_chance_ranks(double* one, size_t one_count, double* other, size_t other_count);

#endif // SR_STORE_CHANCE_H
