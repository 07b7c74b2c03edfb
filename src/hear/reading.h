// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reading.h
   Which of two readings of a take its pitches speak for: each sound a note by itself, or
   each note with its octave below. A sound that is written while its octave above is not can
   be no pair; one that is not written while its octave above is can be no single note. Where
   both are written it says nothing.
*/

#ifndef SR_HEAR_READING_H
#define SR_HEAR_READING_H

#include <steadyreed/hear.h>

#include <stddef.h>

/**
   How likely a pitch is, if the take is read in one way. A mixture: the phrase's pitches by
   their share of its time, a tenth of them in the other reading, and a little of anything.

   @param expected What the phrase has.
   @param reading  The way.
   @param midi     Pitch of a sound's period, on the instrument's own reference; need not be whole.
   @return Density per semitone; the same for all pitches if the phrase is not known.
*/
double sr_reading_density(const SrExpected* expected, SrReading reading, double midi);

#endif // SR_HEAR_READING_H
