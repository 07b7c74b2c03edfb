// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file activation.h
   How much of each reed a frame holds: non-negative activations of the templates
   under the generalised Kullback-Leibler divergence, by multiplicative updates
   (Lee and Seung 2001, theorem 2). The room's floor is a fixed part; a flat and
   a low template take up knocks and hiss. Only reeds that sound, or that the
   optimality condition asks for, are kept in the sum.
*/

#ifndef SR_HEAR_ACTIVATION_H
#define SR_HEAR_ACTIVATION_H

#include "profile.h"

/// Most reeds at once.
#define SR_ACTIVE_SIZE 8u

typedef struct SrActivationImpl SrActivation;

/// What the solver says of a frame.
typedef struct {
  size_t count;                 ///< Reeds active
  size_t pitch[SR_ACTIVE_SIZE]; ///< Which, from SR_LOWEST_MIDI
  float amount[SR_ACTIVE_SIZE]; ///< Sum of magnitudes of each
  float noise[2];               ///< Sum of magnitudes of the noise templates, flat and low
  float total;                  ///< Sum of the frame's magnitudes
  float misfit;                 ///< Divergence over `total`
} SrActivationFrame;

/// Make one for a profile; NULL without memory. `expected` may be NULL.
SrActivation* sr_activation_new(const SrProfile* profile, const SrFrameGrid* grid,
                                const SrExpected* expected);
/// Free; NULL does nothing.
void sr_activation_del(SrActivation* activation);
/// Solve one frame, starting from the last one's result. `magnitudes`: grid->padded floats.
void sr_activation_do(SrActivation* activation, const float* magnitudes, SrActivationFrame* frame);
/// Start the next frame from `frame` instead of from the last one solved.
void sr_activation_restart(SrActivation* activation, const SrActivationFrame* frame);
/// The template of a pitch, grid->padded floats.
const float* sr_activation_template(const SrActivation* activation, size_t pitch);

#endif // SR_HEAR_ACTIVATION_H
