// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file onset.h
   When a sound began, from the rise of its activation.
*/

#ifndef SR_HEAR_ONSET_H
#define SR_HEAR_ONSET_H

#include <stddef.h>

/**
   The moment at which the sound's own amplitude passed a tenth of its level.

   The 20 ms window smears the rise: an abrupt start passes a tenth 4.8 ms early,
   a slow one hardly early at all, and how slow it is shows in the time from a
   tenth to a half.

   @param rise     Activations, frame by frame.
   @param count    Number of them, at least 2.
   @param noticed  Frame at which it had certainly begun, under `count`.
   @param frame_ms Time between frames, ms.
   @return Position in frames from the start of `rise`.
*/
double sr_onset_find(const float* rise, size_t count, size_t noticed, double frame_ms);

#endif // SR_HEAR_ONSET_H
