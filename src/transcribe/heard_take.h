// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_HEARD_TAKE_H
#define SR_TRANSCRIBE_HEARD_TAKE_H

#include <steadyreed/transcribe.h>

/// What was heard in a take.
typedef struct {
  SrEvent* sounds;
  size_t sound_count;
  SrAirHeard* air;
  size_t air_count;
  SrAirCarriage air_carriage;
  double reference_hz;
} SrHeardTake;

/**
   Hear a take, which is at its first sample.

   @param expected What to listen for; NULL for all pitches alike.
   @param reading  How to read the take.
   @param heard    Receives it; clear it also on error.
*/
SrStatus sr_heard_take_make(const SrTakeSource* source, int64_t loudest, double rate_hz,
                            const SrExpected* expected, SrReading reading, SrHeardTake* heard,
                            SrError* error);
/// Free what it holds.
void sr_heard_take_clear(SrHeardTake* heard);

#endif // SR_TRANSCRIBE_HEARD_TAKE_H
