// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file pitch.h
   A pitch track by aubio, for tuning, setup and free listening: one point about every 10 ms,
   without a phrase.
*/

#ifndef STEADYREED_PITCH_H
#define STEADYREED_PITCH_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// One point of the track.
typedef struct {
  double at_s;         ///< Middle of the window, s from the first sample
  double frequency_hz; ///< Fundamental; 0 in silence or without a period
  double confidence;   ///< 0 to 1, from aubio
  double level_db;     ///< RMS of the window, dBFS (a full-scale sine is -3.01)
} SrPitchPoint;

/// The tracker.
typedef struct SrPitchTrackImpl SrPitchTrack;

/**
   Start tracking. The method is aubio's "yinfast" (YIN, de Cheveigné and Kawahara 2002)
   on windows of 46 ms or the next power of two.

   @param rate_hz  SR_LOWEST_RATE_HZ to SR_HIGHEST_RATE_HZ of hear.h.
   @param track    Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_pitch_track_new(double rate_hz, SrPitchTrack** track, SrError* error);
/// Free; NULL does nothing.
void sr_pitch_track_del(SrPitchTrack* track);
/**
   Push samples, mono, full scale ±1, in chunks of any size; non-finite values count as silence.

   @return Samples taken: fewer than `count` when a point is ready, which must be pulled before the
           rest is pushed.
*/
size_t sr_pitch_track_push(SrPitchTrack* track, const float* samples, size_t count);
/// Take the point that is ready; false if there is none.
bool sr_pitch_track_pull(SrPitchTrack* track, SrPitchPoint* point);

SR_END_DECLARATIONS

#endif // STEADYREED_PITCH_H
