// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fraction.h
   Exact durations. Results are in lowest terms; overflow gives zero over zero, which propagates
   through further operations.
*/

#ifndef SR_PHRASE_FRACTION_H
#define SR_PHRASE_FRACTION_H

#include <steadyreed/phrase.h>

/// Largest numerator or denominator.
#define SR_FRACTION_MOST INT64_C(1000000000)

SrFraction sr_fraction(int64_t numerator, int64_t denominator);
SrFraction sr_fraction_add(SrFraction a, SrFraction b);
SrFraction sr_fraction_subtract(SrFraction a, SrFraction b);
SrFraction sr_fraction_multiply(SrFraction a, SrFraction b);
/// Negative, zero or positive, as a is less than, equal to or more than b; both must be valid.
int sr_fraction_compare(SrFraction a, SrFraction b);
bool sr_fraction_valid(SrFraction fraction);

#endif // SR_PHRASE_FRACTION_H
