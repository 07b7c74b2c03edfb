// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hindsight.h
   Looks again at the rise of a sound, once it is known which reed it was. A reed's
   fundamental often leads and its upper harmonics follow, so that at first it is not
   what its template says; here its parts have an activation each.
*/

#ifndef SR_HEAR_HINDSIGHT_H
#define SR_HEAR_HINDSIGHT_H

#include "activation.h"

/// Reeds beside it, at most.
#define SR_ROWS (SR_ACTIVE_SIZE - SR_PARTS)

typedef struct SrHindsightImpl SrHindsight;

/// Reeds that sound about a rise.
typedef struct {
  size_t row[SR_ROWS]; ///< Pitches
  size_t count;
  size_t own;           ///< The first so many may take up parts of the rising reed itself
  float share[SR_ROWS]; ///< How much of what each of these takes up is its, 0 to 1
} SrRows;

/// Make one; NULL without memory. `expected` may be NULL.
SrHindsight* sr_hindsight_new(const SrProfile* profile, const SrFrameGrid* grid,
                              const SrExpected* expected);
/// Free; NULL does nothing.
void sr_hindsight_del(SrHindsight* hindsight);
/// Keep the next frame's magnitudes, grid->padded floats.
void sr_hindsight_put(SrHindsight* hindsight, const float* magnitudes);
/**
   Measure a rise.

   @param pitch  The reed.
   @param rows   Those that sound about it.
   @param back   How many frames before the last one kept the rise starts.
   @param count  Frames wanted, at most `back` + 1.
   @param noticed Which of them is the one from which on it sounds: long before it, once the reed
                  has been silent for a while, the rest is taken as silent too.
   @param updates As for sr_activation_refine().
   @param values Receives the reed's amount in each.
*/
void sr_hindsight_rise(SrHindsight* hindsight, size_t pitch, const SrRows* rows, size_t back,
                       size_t count, size_t noticed, int updates, float* values);

#endif // SR_HEAR_HINDSIGHT_H
