// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reading_evidence.h
   Evidence of the pitches for a reading of a take: each sound a single note, or each note with its
   octave below. A written pitch whose octave above is not written cannot be a pair; an unwritten
   one whose octave above is written cannot be a single note. If both are written it is no evidence.

   Single reeds with strong even harmonics, or coupled with the octave above, look like such pairs,
   and no threshold on a spectrum separates them; hence the evidence of a whole take. The log
   likelihood ratio is summed over notes: one for each run of windows whose period YIN finds too
   (period.h). In the tests single reeds of all kinds have -7 nats or less over a whole tune, pairs
   +20 or more.

   Where a left hand plays below the melody, few reeds sound alone; that is the third reading,
   SR_READ_ACCOMPANIED. In it the spectra are factorised (mixture.h), no octave is folded into
   another pitch, and what the accompaniment may hide is not judged (SrJudgeSettings.accompanied).
   listen.c chooses between the readings.
*/

#ifndef SR_HEAR_READING_EVIDENCE_H
#define SR_HEAR_READING_EVIDENCE_H

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

#endif // SR_HEAR_READING_EVIDENCE_H
