// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hiss.h
   The sound of an air button for takes, in several colours and courses.
*/

#ifndef TEST_HISS_H
#define TEST_HISS_H

#include "random.h"

#include <stddef.h>

/// What its spectrum is like from 0.5 to 10 kHz, outside of which there is none.
typedef enum {
  HISS_WHITE,
  HISS_PINK,   ///< 3 dB an octave down
  HISS_DARK,   ///< Flat to 1.5 kHz, from there 6 dB an octave down
  HISS_BRIGHT, ///< 3 dB an octave up
  HISS_HOLLOW, ///< White with a hump of 9 dB at 2.2 kHz
  HISS_COLOURS
} HissColour;

/// How it comes and goes.
typedef enum {
  HISS_EVEN,    ///< Up and down within 10 ms
  HISS_SWELL,   ///< Half a sine
  HISS_RISING,  ///< Amplitude from half to whole
  HISS_FALLING, ///< … and back
  HISS_COURSES
} HissCourse;

/**
   Add a hiss.

   @param out       The take.
   @param out_count Its samples.
   @param rate_hz   Sample rate.
   @param start_s   When it begins.
   @param length_s  How long it takes.
   @param rms       Its RMS over that part in which its power is over a third of its most.
*/
void hiss_add(float* out, size_t out_count, double rate_hz, double start_s, double length_s,
              double rms, HissColour colour, HissCourse course, Random* random);

#endif // TEST_HISS_H
