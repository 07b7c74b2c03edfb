// SPDX-License-Identifier: GPL-3.0-or-later

// How likely chance alone makes two samples differ as much as they do.

#ifndef SR_STORE_CHANCE_H
#define SR_STORE_CHANCE_H

#include <stdbool.h>
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

/**
   Replace values by their ranks from 1, equal ones sharing theirs.

   @param ranks Receives them.
   @return False without memory.
*/
bool sr_chance_rank(const double* values, size_t count, double* ranks);

/// Values of a take, round after round.
typedef struct {
  const double* values;
  const size_t* counts; ///< Values of each round; 0 is allowed
  size_t rounds;
} SrByRound;

/**
   Test of the difference of two means, where the values of one round may be alike: an analysis of
   variance with rounds within takes. The variance of a value is the mean square between the rounds
   of a take, or that within the rounds if it is the larger: their ratio is the design effect
   (Donner and Klar 2000, "Design and Analysis of Cluster Randomization Trials", from memory). The
   difference over its error is held against Student's t. Its degrees of freedom are those of the
   rounds, rounds - 2, and 5 over the square of the design effect. The 5 has no source: it was found
   by trial, so that the level holds from two rounds each and real differences are told.

   @param difference Receives the second mean less the first; NAN if either has no value.
   @return 0 to 1; NAN if neither take has two rounds with values: then nothing is known of how
           rounds differ.
*/
double sr_chance_rounds(const SrByRound takes[2], double* difference);

/// Student's t (1908), two-sided: the chance of a t as far from 0, with `freedom` degrees of
/// freedom, at least 1.
double sr_chance_t(double t, double freedom);

/**
   Holm's method (1979): the smallest chance against the level by the number of tests, the next by
   one less, and so on up to the first that does not stand.

   @param chances NAN for what was not tested.
   @param told    Receives which stand.
*/
void sr_chance_holm(const double* chances, size_t count, double level, bool* told);

#endif // SR_STORE_CHANCE_H
