// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file second_pass.h
   Second calibration pass: some seconds of the take are heard in advance, to learn what long
   spectra cannot show: reeds that only ever sound as cuts.

   It also learns how a released reed decays in this room, and how long each reed takes to speak
   (sr_sound_finder_learnt()).
*/

#ifndef SR_HEAR_SECOND_PASS_H
#define SR_HEAR_SECOND_PASS_H

#include "profile.h"

/**
   Learn the reeds that the first pass could not.

   @param profile  Result of the first pass; its unlearnt reeds are changed.
   @param grid     For the analysis rate of the samples.
   @param expected May be NULL.
   @param samples  Decimated ones.
   @param count    Number of them.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_second_pass(SrProfile* profile, const SrFrameGrid* grid, const SrExpected* expected,
                        const float* samples, size_t count);

#endif // SR_HEAR_SECOND_PASS_H
