// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file in_turn.h
   Stretches of two recordings, one after the other: the first of one, the first of the other, the
   second of one, and so on; or of one recording alone. They are equally loud, and each may be
   slowed down in its pitch to a common tempo.

   Loudness is the RMS of what sounds: of all blocks of 50 ms that are at most 20 dB below the
   loudest block of the same recording (our own measure; gated as in ITU-R BS.1770, without its
   weighting, since both are the same instrument). It is brought to -20 dBFS, or to less, so that no
   sample is over SR_IN_TURN_PEAK.
*/

#ifndef STEADYREED_IN_TURN_H
#define STEADYREED_IN_TURN_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Largest sample, of full scale: -6 dBFS.
#define SR_IN_TURN_PEAK 0.5
/// Kept before each stretch, in the recording's own time, s: less would cut into the attack, and
/// more of the note before would sound like a cut.
#define SR_IN_TURN_BEFORE_S 0.008
/// Silence before the first stretch, s, which players of sound may swallow.
#define SR_IN_TURN_FIRST_S 0.2
/// Silence between the two recordings, and before the next stretch, s.
#define SR_IN_TURN_BETWEEN_S 0.4
#define SR_IN_TURN_APART_S 0.8
/// Most that is played, s.
#define SR_IN_TURN_MOST_S 1800.0

/// A stretch of a recording, seconds of its own time.
typedef struct {
  double from_s;
  double to_s; ///< After `from_s`
} SrSpan;

/// A recording, or a part of one.
typedef struct {
  const float* samples; ///< Mono, full scale ±1; one that is not finite counts as 0
  size_t count;
  double rate_hz;      ///< A whole number from 8000 to 192000
  double start_s;      ///< Time of the first sample
  const SrSpan* spans; ///< Stretches in the order of playing; what is not in `samples` is silent
  double speed;        ///< SR_SLOWEST_SPEED to SR_FASTEST_SPEED, see slow.h
} SrTurn;

/// What is to be played. Clear it with sr_in_turn_clear().
typedef struct {
  float* samples;
  size_t count;
  double rate_hz;
  double* begins_s; ///< When each stretch begins, without what is kept before it; of two
                    ///< recordings those of the first at 0, 2 ..., of the second at 1, 3 ...
  size_t begin_count;
  double gain_db[2]; ///< By how much each recording was made louder
} SrInTurn;

/**
   Prepare the sound, all of it in memory.

   @param turns      The recordings.
   @param turn_count 1 or 2.
   @param span_count Stretches of each, at least 1.
   @param rate_hz    Sample rate of what comes out, a whole number from 8000 to 192000.
   @param sound      Receives it; empty on error.
   @return SR_OK; SR_BAD_ARGUMENT; SR_NOT_FOUND (nothing sounds in the stretches of a recording);
           SR_UNSUPPORTED (a build without Rubber Band, if a speed or sample rate is to be changed);
           SR_TOO_LARGE (over SR_IN_TURN_MOST_S) or SR_NO_MEMORY.
*/
SrStatus sr_in_turn_make(const SrTurn* turns, size_t turn_count, size_t span_count, double rate_hz,
                         SrInTurn* sound, SrError* error);
/**
   The speeds that bring two recordings to the slower one's tempo.

   @param bpm    Tempo of each, pulses a minute; NAN if it is not known.
   @param speeds Receives them, for SrTurn; 1 and 1 if there are none.
   @return Whether both tempi are known, and near enough for SR_SLOWEST_SPEED.
*/
bool sr_in_turn_speeds(const double bpm[2], double speeds[2]);
/// Free what it holds.
void sr_in_turn_clear(SrInTurn* sound);

SR_END_DECLARATIONS

#endif // STEADYREED_IN_TURN_H
