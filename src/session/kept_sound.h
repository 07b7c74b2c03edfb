// SPDX-License-Identifier: GPL-3.0-or-later

// The sound of the rounds of a sitting, in memory. The session's thread adds to it, any thread may
// copy from it; either may wait for the lock while a chunk is added or a stretch is copied. The
// audio callback never uses it.

#ifndef SR_SESSION_KEPT_SOUND_H
#define SR_SESSION_KEPT_SOUND_H

#include <steadyreed/status.h>

#include <stddef.h>
#include <stdint.h>

typedef struct SrKeptSoundImpl SrKeptSound;

/**
   Create one.

   @param most_bytes Most memory for samples; two bytes for each.
   @return NULL without memory.
*/
SrKeptSound* sr_kept_sound_new(double rate_hz, size_t most_bytes);
/// Free; NULL does nothing.
void sr_kept_sound_del(SrKeptSound* sound);

/**
   Add samples. Without memory for them they are left out, like those dropped.

   @param needed_s What is heard from this time on may become part of a round, s. What is earlier,
                   and in no round, is dropped, as are the oldest samples beyond the bound.
*/
void sr_kept_sound_add(SrKeptSound* sound, const float* samples, size_t count, double needed_s);
/// A round was played, s; it gets the next number, from 1. Without memory it is forgotten.
void sr_kept_sound_round(SrKeptSound* sound, double start_s, double end_s);
/// See sr_session_copy().
SrStatus sr_kept_sound_copy(SrKeptSound* sound, double from_s, double to_s, float** samples,
                            size_t* count, SrError* error);
/// See sr_session_copy_round().
SrStatus sr_kept_sound_copy_round(SrKeptSound* sound, unsigned round, float** samples,
                                  size_t* count, double* start_s, SrError* error);

#endif // SR_SESSION_KEPT_SOUND_H
