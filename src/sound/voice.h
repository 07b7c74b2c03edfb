// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file voice.h
   One reed: a table of one period, an attack that is slower for low notes, a
   little breath.
*/

#ifndef SR_SOUND_VOICE_H
#define SR_SOUND_VOICE_H

#include <stddef.h>
#include <stdint.h>

#define SR_VOICE_TABLE 4096u

/// A reed's tone.
typedef struct {
  double step;      ///< Table places a sample
  double attack_s;  ///< Time constant of its rise
  double release_s; ///< Time constant of its fall
  float table[SR_VOICE_TABLE + 1];
} SrVoice;

/**
   Make the tone of a pitch.

   Free reeds have all harmonics, falling off slowly to about the sixth and then
   faster, the even ones a little weaker (common practice, no source). Low reeds
   are heavier and speak later: 3 ms at C6 to 12 ms two octaves and a half below
   (common practice, no source).

   @param frequency_hz Fundamental.
   @param rate_hz      Sample rate; no harmonic comes above 0.45 of it.
*/
void sr_voice_make(SrVoice* voice, double frequency_hz, double rate_hz);

/**
   One sample.

   @param age_s     Seconds since its start, 0 or more.
   @param left_s    Seconds until its end; negative while it dies away.
   @param age       Samples since its start.
*/
float sr_voice_sample(const SrVoice* voice, double age_s, double left_s, uint64_t age);

#endif // SR_SOUND_VOICE_H
