// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file voice.h
   One reed: a wavetable of one period, an attack that is slower for low notes, and a little breath
   noise.
*/

#ifndef SR_SOUND_VOICE_H
#define SR_SOUND_VOICE_H

#include <stddef.h>
#include <stdint.h>

#define SR_VOICE_TABLE 4096u

/// A reed's tone.
typedef struct {
  double step;      ///< Table entries per sample
  double attack_s;  ///< Attack time constant
  double release_s; ///< Release time constant
  float table[SR_VOICE_TABLE + 1];
} SrVoice;

/**
   Make the tone of a pitch. Free reeds have all harmonics, falling off slowly to about the sixth
   and then faster, the even ones a little weaker (common practice, no source). Low reeds are
   heavier and speak later: 3 ms at C6 to 12 ms two and a half octaves below (common practice, no
   source).

   @param frequency_hz Fundamental.
   @param rate_hz      Sample rate; there are no harmonics above 0.45 of it.
*/
void sr_voice_make(SrVoice* voice, double frequency_hz, double rate_hz);

/**
   Render one sample.

   @param age_s     Time since its start, s, 0 or more.
   @param left_s    Time until its end, s; negative during the release.
   @param age       Samples since its start.
*/
float sr_voice_sample(const SrVoice* voice, double age_s, double left_s, uint64_t age);

#endif // SR_SOUND_VOICE_H
