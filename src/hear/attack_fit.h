// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file attack_fit.h
   Attack fit: the rise of a sound is measured again once its reed is known. A reed's fundamental
   often leads and its upper harmonics follow, so its start does not match its template; here the
   parts of the template have an activation each.
*/

#ifndef SR_HEAR_ATTACK_FIT_H
#define SR_HEAR_ATTACK_FIT_H

#include "activation.h"

/// Most other reeds.
#define SR_ROWS (SR_ACTIVE_SIZE - SR_PARTS)

typedef struct SrAttackFitImpl SrAttackFit;

/// Reeds that sound around a rise.
typedef struct {
  size_t row[SR_ROWS]; ///< Pitches
  size_t count;
  size_t own;           ///< How many, the first ones, may take up parts of the rising reed itself
  float share[SR_ROWS]; ///< Share of what each of these takes up that belongs to the rising reed, 0
                        ///< to 1
} SrRows;

/// Make one; NULL if out of memory. `expected` may be NULL.
SrAttackFit* sr_attack_fit_new(const SrProfile* profile, const SrFrameGrid* grid,
                               const SrExpected* expected);
/// Free; NULL is allowed.
void sr_attack_fit_del(SrAttackFit* attack_fit);
/// Keep the next frame's magnitudes, grid->padded floats.
void sr_attack_fit_put(SrAttackFit* attack_fit, const float* magnitudes);
/**
   Measure a rise.

   @param pitch   The reed.
   @param rows    Those that sound around it.
   @param back    Start of the rise, in frames before the last one kept.
   @param count   Frames wanted, at most `back` + 1.
   @param noticed The one of them from which the reed sounds. Well before it, once the reed has been
                  silent for a while, earlier frames are taken as silent too.
   @param updates As for sr_activation_refine().
   @param values  Receives the reed's amount in each.
*/
void sr_attack_fit_rise(SrAttackFit* attack_fit, size_t pitch, const SrRows* rows, size_t back,
                        size_t count, size_t noticed, int updates, float* values);

#endif // SR_HEAR_ATTACK_FIT_H
