// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reading.h
   Evidence of the pitches for a reading of a take: each sound a single note, or each note with its
   octave below. A written pitch whose octave above is not written cannot be a pair; an unwritten
   one whose octave above is written cannot be a single note. If both are written it is no evidence.
*/

#ifndef SR_HEAR_READING_H
#define SR_HEAR_READING_H

#include <steadyreed/hear.h>

#include <stddef.h>

/**
   Probability density of a pitch in a reading. A mixture: the phrase's pitches by their share of
   its time, a tenth of them in the other reading, and a small uniform part.

   @param expected Pitches of the phrase.
   @param reading  The reading.
   @param midi     Pitch of a sound's period, relative to the instrument's reference; may be
                   fractional.
   @return Density per semitone; the same for all pitches if the phrase is unknown.
*/
double sr_reading_density(const SrExpected* expected, SrReading reading, double midi);

#endif // SR_HEAR_READING_H
