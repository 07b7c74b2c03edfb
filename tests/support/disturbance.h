// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file disturbance.h
   What else a microphone hears, none of it air.
*/

#ifndef TEST_DISTURBANCE_H
#define TEST_DISTURBANCE_H

#include "random.h"

#include <stdbool.h>
#include <stddef.h>

/// Which, in bits.
enum {
  DISTURB_FAN = 1,      ///< Steady, low, with a whine
  DISTURB_HUM = 2,      ///< The mains and its harmonics
  DISTURB_HISS = 4,     ///< Of a cheap microphone: white and steady
  DISTURB_RUMBLE = 8,   ///< Traffic, under 150 Hz
  DISTURB_CREAK = 16,   ///< A chair: stick and slip, through a resonance
  DISTURB_CLOTHES = 32, ///< Rustle: crackling grains
  DISTURB_KNOCKS = 64,  ///< On wood, some loud
  DISTURB_TURNS = 128,  ///< Bellows noise where one note ends and another begins
  DISTURB_TALK = 256,   ///< Someone talks in the next room, by espeak-ng
  DISTURB_ALL = 511
};

/**
   Add disturbances to a take.

   @param out       The take.
   @param out_count Its samples.
   @param rate_hz   Sample rate.
   @param level     RMS of its notes.
   @param kinds     Bits from above.
   @param turns_s   When one note ends and another begins.
   @param turns     Their number.
   @return false if talk was asked for and espeak-ng is not there.
*/
bool disturb(float* out, size_t out_count, double rate_hz, double level, unsigned kinds,
             const double* turns_s, size_t turns, Random* random);

#endif // TEST_DISTURBANCE_H
