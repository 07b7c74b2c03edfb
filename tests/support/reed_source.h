// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reed_source.h
   Where a take's tones come from: made, or cut out of recorded free reeds.
*/

#ifndef TEST_REED_SOURCE_H
#define TEST_REED_SOURCE_H

#include "random.h"

#include <stdbool.h>
#include <stddef.h>

/// Sample rate of all sources and takes, Hz.
#define SOURCE_RATE_HZ 44100.0

/// The kinds.
typedef enum {
  REEDS_MADE,
  REEDS_ACCORDION, ///< Program 21, from 0, of Debian's fluid-soundfont-gm
  REEDS_HARMONICA, ///< Program 22
  REEDS_BANDONEON, ///< Program 23
} ReedKind;

typedef struct ReedSourceImpl ReedSource;

/// What air taken meanwhile does to a tone: it comes and goes with a quarter of its length.
typedef struct {
  double start_s;
  double end_s;
  double dip_db;     ///< How far it falls
  double bend_cents; ///< How far its pitch bends, negative for flat
} Sag;

/**
   Make a source.

   Made reeds: 39 harmonics whose strengths differ from reed to reed, breath at
   about -40 dB, and a rise that follows the logistic curve of a growing and
   saturating oscillation, 1 / (1 + 3 exp(-r t)): it passes a quarter of its level at
   t = 0, and takes `attack` from a tenth to nine tenths.

   Recorded reeds: each pitch is played once by fluidsynth, without effects, and its
   tone cut and placed to the sample; its time 0 is where its own envelope (the
   largest magnitude in 1.5 periods) first passes a quarter of the most it has
   between 0.25 and 0.6 s. It is tuned by resampling, from its fundamental as aubio
   measures it.

   @param kind       What kind.
   @param seed       For the made ones.
   @param attack_ms  Made reeds: rise of E5, tenth to nine tenths; lower reeds are
                     slower, up to 40 ms, higher ones faster, down to 8 ms.
   @return NULL if the recorded ones cannot be had (a message says why).
*/
ReedSource* reed_source_new(ReedKind kind, uint64_t seed, double attack_ms);
/// Free; NULL does nothing.
void reed_source_del(ReedSource* source);
/**
   Add a tone to a take.

   @param out          The take.
   @param out_count    Its samples.
   @param midi         Pitch.
   @param frequency_hz How it is tuned.
   @param onset_s      When it passes a quarter of its level: its onset (Vos and Rasch 1981, from
   memory: listeners place it 6 to 15 dB below the level).
   @param end_s        When it lets go.
   @param release_s    In which it falls to a tenth.
   @param gain         Its RMS.
   @param sag          What befalls it; NULL for nothing.
*/
void reed_source_add(ReedSource* source, float* out, size_t out_count, int midi,
                     double frequency_hz, double onset_s, double end_s, double release_s,
                     double gain, const Sag* sag);

#endif // TEST_REED_SOURCE_H
