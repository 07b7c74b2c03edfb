// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file steady_partials.h
   Whether a reed plays, in a sound that may also hold speech: the harmonics of a reed keep their
   frequency and level, those of a voice glide. Quick and coarse, for silencing a voice when playing
   begins; what was played is for the listening engine to say.
*/

#ifndef SR_HEAR_STEADY_PARTIALS_H
#define SR_HEAR_STEADY_PARTIALS_H

#include <stddef.h>

typedef struct SrSteadyPartialsImpl SrSteadyPartials;

/**
   Create one.

   @param rate_hz Sample rate, 16000 to 192000.
   @return NULL without memory.
*/
SrSteadyPartials* sr_steady_partials_new(double rate_hz);
/// Free; NULL does nothing.
void sr_steady_partials_del(SrSteadyPartials* partials);
/**
   Forget what was pushed.

   @param least_db What is softer than this is no reed: dBFS of a sine's amplitude, for the loudest
                   of its partials; -INFINITY for any.
*/
void sr_steady_partials_reset(SrSteadyPartials* partials, double least_db);
/**
   Push samples.

   @param samples Full scale 1; not finite ones count as silence.
   @return 0, or if steady partials of a reed were found in them, for how many samples they have
           sounded: at least some 0.13 s of them.
*/
size_t sr_steady_partials_push(SrSteadyPartials* partials, const float* samples, size_t count);

#endif // SR_HEAR_STEADY_PARTIALS_H
