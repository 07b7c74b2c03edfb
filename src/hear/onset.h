// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file onset.h
   Onset of a sound from the rise of its activation.

   The take maker of the tests defines its true onsets by the same rule.
*/

#ifndef SR_HEAR_ONSET_H
#define SR_HEAR_ONSET_H

#include <stddef.h>

/// A rise.
typedef struct {
  double half;  ///< Where it is half way up, frames from the start of the rise
  double onset; ///< Where the sound's own amplitude passed a quarter of its level, frames
  double base;  ///< Earlier sound relative to the level, 0 to 1
} SrRise;

/**
   Measure a rise.

   The onset is where the amplitude passes a quarter of its level, 12 dB below it: listeners place
   it 6 to 15 dB below (Vos and Rasch 1981, from memory). The 20 ms window smears the rise: an
   abrupt start passes a quarter 2.5 ms early, a slow one hardly early at all; the time from a
   quarter to a half shows how slow it is. Earlier sound (the room's tail, or the released note) is
   not in phase with it, so its power is subtracted.

   @param values   Activations, frame by frame.
   @param count    Number of them, at least 2.
   @param noticed  Frame at which it had certainly begun, under `count`.
   @param frame_ms Time between frames, ms.
*/
SrRise sr_onset_measure(const float* values, size_t count, size_t noticed, double frame_ms);

#endif // SR_HEAR_ONSET_H
