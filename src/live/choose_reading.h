// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file choose_reading.h
   Which reading of a take or of a round to keep: single notes, doubled notes, or accompanied ones.
*/

#ifndef SR_LIVE_CHOOSE_READING_H
#define SR_LIVE_CHOOSE_READING_H

#include <steadyreed/listen.h>

/// Hears and judges in a reading.
typedef struct {
  /**
     @param context As below.
     @param reading The reading to try.
     @param heard   Receives the result, without an assessment if it was refused.
     @return As sr_listen().
  */
  SrStatus (*judge_as)(void* context, SrReading reading, SrListened* heard, SrError* error);
  void* context;
} SrReadingTrial;

/// The likelier reading of a calibration, of the two without accompaniment.
SrReading sr_reading_likely(double doubled_nats);

/**
   Try the other readings if in doubt, and keep the best: three hearings at most.

   @param trial        How to try one.
   @param doubled_nats From sr_calibration_doubled_nats().
   @param reading      The reading of `best`; changed with it.
   @param best         Result so far, without an assessment if it was refused; replaced by a better
                       one.
   @return SR_OK or SR_NO_MEMORY; another reading that fails is not kept.
*/
SrStatus sr_readings_try(const SrReadingTrial* trial, double doubled_nats, SrReading* reading,
                         SrListened* best, SrError* error);

#endif // SR_LIVE_CHOOSE_READING_H
