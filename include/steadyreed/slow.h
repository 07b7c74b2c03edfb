// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file slow.h
   A recording played slowly in its pitch, by the Rubber Band library.

   The library is optional at build; without it sr_slow_new() refuses. What comes out has the length
   of what went in, divided by the speed, to the sample; nothing is delayed.
*/

#ifndef STEADYREED_SLOW_H
#define STEADYREED_SLOW_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Slowest and fastest speed, 1 is that of the recording.
#define SR_SLOWEST_SPEED 0.25
#define SR_FASTEST_SPEED 1.0

/// A source of samples: fills `samples` with up to `count` and returns how many, 0 at the end. As
/// in audio.h.
typedef size_t (*SrSlowSource)(void* context, float* samples, size_t count);

/// A recording being slowed down.
typedef struct SrSlowImpl SrSlow;

/// Whether the library was built with Rubber Band.
bool sr_slow_is_built(void);

/**
   Begin to slow a recording down.

   @param in_rate_hz  Sample rate of what goes in, a whole number from 8000 to 192000.
   @param out_rate_hz Sample rate of what comes out, likewise; the pitch stays.
   @param speed       SR_SLOWEST_SPEED to SR_FASTEST_SPEED.
   @param length      Samples that the source has. If it has more, they are not read; if fewer,
                      silence follows.
   @param source      Supplies them: mono, full scale ±1; one that is not finite counts as 0.
                      Called by sr_slow_read() only.
   @param context     Passed to `source`.
   @param slow        Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT, SR_TOO_LARGE (over 2^31 samples come out), SR_UNSUPPORTED (a
           build without Rubber Band) or SR_NO_MEMORY.
*/
SrStatus sr_slow_new(double in_rate_hz, double out_rate_hz, double speed, size_t length,
                     SrSlowSource source, void* context, SrSlow** slow, SrError* error);

/// Samples that come out in all.
size_t sr_slow_length(const SrSlow* slow);

/**
   Take the next samples. The output does not depend on the chunk size. Not for a real-time thread.

   @return Samples written; fewer than `count` only at the end.
*/
size_t sr_slow_read(SrSlow* slow, float* samples, size_t count);

/// Free; NULL does nothing.
void sr_slow_del(SrSlow* slow);

SR_END_DECLARATIONS

#endif // STEADYREED_SLOW_H
