// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file activation.h
   NMF with fixed templates: the activation of each reed in a frame, non-negative, by multiplicative
   updates for the generalised Kullback-Leibler divergence (Lee and Seung 2001, theorem 2) with an
   exponent of 3/2, which converge faster. By the auxiliary function of their proof the divergence
   never rises as long as no update makes an activation more than 20^(3/2) times as large. The
   room's floor is a fixed part of the model; a flat and a low template take up knocks and hiss.
   Only reeds that sound, or that the optimality condition asks for, are in the sum.
*/

#ifndef SR_HEAR_ACTIVATION_H
#define SR_HEAR_ACTIVATION_H

#include "profile.h"

/// Most reeds at once.
#define SR_ACTIVE_SIZE 10u
/// Parts of a split template: the fundamental, its octave, the next two harmonics, and all above.
#define SR_PARTS 4u
/// Updates per frame when refining from its neighbour's result.
#define SR_REFINE_UPDATES 4

typedef struct SrActivationImpl SrActivation;

/// Solution of a frame.
typedef struct {
  size_t count;                 ///< Active reeds
  size_t pitch[SR_ACTIVE_SIZE]; ///< Which, from SR_LOWEST_MIDI; from SR_PITCHES on: the upper reed
                                ///< alone of a doubled pitch, counted from there
  float amount[SR_ACTIVE_SIZE]; ///< Sum of magnitudes of each
  float noise[2];               ///< Sum of magnitudes of the noise templates, flat and low
  float total;                  ///< Sum of the frame's magnitudes
  float misfit;                 ///< Divergence over `total`
} SrActivationFrame;

/// Make one for a profile; NULL if out of memory. `expected` may be NULL.
SrActivation* sr_activation_new(const SrProfile* profile, const SrFrameGrid* grid,
                                const SrExpected* expected);
/// Free; NULL is allowed.
void sr_activation_del(SrActivation* activation);
/**
   Solve one frame, starting from the last result, and add the reeds that it asks for.

   @param magnitudes grid->padded floats.
*/
void sr_activation_do(SrActivation* activation, const float* magnitudes, SrActivationFrame* frame);
/**
   Go back to an earlier frame.

   @param frame The frame after which to continue.
   @param later A later one, whose reeds are added with small activations so that
                sr_activation_refine() finds them.
*/
void sr_activation_restart(SrActivation* activation, const SrActivationFrame* frame,
                           const SrActivationFrame* later);
/**
   Solve one frame with the present reeds; `misfit` stays as the restart's `later` had it.

   @param updates Number of updates: SR_REFINE_UPDATES, or fewer for a rough answer.
*/
void sr_activation_refine(SrActivation* activation, const float* magnitudes, int updates,
                          SrActivationFrame* frame);
/**
   Write the parts of a pitch's template into rows of their own.

   @param rows Receives the numbers of these rows, for sr_activation_hold().
*/
void sr_activation_split(SrActivation* activation, size_t pitch, size_t rows[SR_PARTS]);
/// Reset the activations of both noise templates.
void sr_activation_forget(SrActivation* activation, float noise);
/// Make sr_activation_refine() use these rows, at most SR_ACTIVE_SIZE, and no others.
void sr_activation_hold(SrActivation* activation, const size_t* rows, const float* amounts,
                        size_t count);
/// The template of a pitch, grid->padded floats.
const float* sr_activation_template(const SrActivation* activation, size_t pitch);

#endif // SR_HEAR_ACTIVATION_H
