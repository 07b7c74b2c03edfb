// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file learnt_reeds.h
   The reeds of an instrument, from the series counted at their pitches. In a doubled take each
   pitch decides by its own windows which of them were pairs.
*/

#ifndef SR_HEAR_LEARNT_REEDS_H
#define SR_HEAR_LEARNT_REEDS_H

#include "heard_pitches.h"

/**
   Learn all reeds; the written ones with their octaves if the take doubles notes.

   @param heard    The pitches.
   @param expected Those of the phrase.
   @param profile  Receives the reeds; says whether notes are doubled.
   @param shift    Of the reference from 440 Hz, cents.
*/
void sr_learn_reeds(const SrHeardPitches* heard, const SrExpected* expected, SrProfile* profile,
                    double shift);

#endif // SR_HEAR_LEARNT_REEDS_H
