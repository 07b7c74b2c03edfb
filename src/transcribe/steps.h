// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file steps.h
   How likely each step from note to note is, by where in the pulse it begins.
*/

#ifndef SR_TRANSCRIBE_STEPS_H
#define SR_TRANSCRIBE_STEPS_H

#include <steadyreed/transcribe.h>

#include <stddef.h>

/// Places in a quaver.
#define SR_PLACES SR_SCORE_PLACES

/// How a pulse divides.
typedef enum {
  SR_PULSE_OF_TWO,   ///< Quavers in twos, counted in fours
  SR_PULSE_OF_THREE, ///< Quavers in threes
} SrPulseKind;
#define SR_PULSE_KINDS 2

/// One step.
typedef struct {
  int places;  ///< Its length
  double nats; ///< Its log likelihood
} SrStep;

/// Most steps from one place.
#define SR_MOST_STEPS 16

/// Places after which the likelihoods come round again.
int sr_steps_round(SrPulseKind kind);

/**
   The steps from a place.

   @param place From 0 to less than sr_steps_round().
   @param steps Receives up to SR_MOST_STEPS.
   @return How many; 0 if no note begins there.
*/
size_t sr_steps_from(SrPulseKind kind, int place, SrStep* steps);

/// Log likelihood that a stretch begins at a place.
double sr_steps_begin_nats(SrPulseKind kind, int place);

#endif // SR_TRANSCRIBE_STEPS_H
