// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file room.h
   A room about a take, and its noise.
*/

#ifndef TEST_ROOM_H
#define TEST_ROOM_H

#include "random.h"

#include <stddef.h>

/**
   Put a take into a room: the direct sound, six early reflections, and a
   tail of noise that dies away by 60 dB in `rt60_s`, its upper half faster.

   @param samples   Changed in place.
   @param count     Their number.
   @param rate_hz   Sample rate.
   @param rt60_s    Reverberation time.
   @param direct_db Direct sound over all that is reflected.
*/
void room_apply(float* samples, size_t count, double rate_hz, double rt60_s, double direct_db,
                Random* random);

/// Add noise whose power falls by 3 dB an octave above 100 Hz, at an RMS in dBFS.
void room_noise(float* samples, size_t count, double rate_hz, double level_db, Random* random);

#endif // TEST_ROOM_H
