// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reed_source.h
   Where a take's tones come from: made, or cut out of recorded free reeds.

   The recordings are those of two packages of Debian, rendered by its synthesizers when a
   test runs; none is kept here.
   - fluid-soundfont-gm 3.1, played by fluidsynth. Its copyright file: Frank Wen 2000-2002,
     2008, and Toby Smithe 2008; MIT licence ("I hereby release Fluid under the MIT license").
   - freepats 20060219, played by timidity. Its copyright file: Free Software Foundation 2004;
     GNU GPL, version 2 or later, with the exception that music made of its patches is not
     covered by it. It has no reed organ and no harmonica.

   What they are like, as test_reed_source.c measures them, means over eight pitches from A3 to D6:
   even harmonics against odd ones, what lies between them from 1 to 9 kHz against the tone, level
   modulation under 20 Hz, and the rise from a tenth to nine tenths.

   kind             even/odd dB  hiss dB  beating dB  rise ms
   made                    -0.6      -44         0.3       19
   accordion               -8.6      -39        12.3      137
   harmonica               -4.9      -48         1.6       37
   bandoneon               -6.6      -40         8.7       58
   organ                    4.2      -54         0.0       47
   patch-accordion        -11.9      -45         0.2       52
   patch-tango             -0.1      -36         0.0       41
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
  REEDS_ACCORDION,       ///< Program 21, from 0, of fluid-soundfont-gm
  REEDS_HARMONICA,       ///< Program 22
  REEDS_BANDONEON,       ///< Program 23
  REEDS_ORGAN,           ///< Program 20
  REEDS_PATCH_ACCORDION, ///< Program 21 of freepats
  REEDS_PATCH_TANGO,     ///< Program 23 of freepats, a tango accordion
  REED_KINDS
} ReedKind;

/// Their names: made, accordion, harmonica, bandoneon, organ, patch-accordion, patch-tango.
extern const char* const REED_NAMES[REED_KINDS];

/// Whether a kind's notes have two tongues that beat by 5 dB and more, as a concertina's never do.
bool reed_beats(ReedKind kind);

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

   Recorded reeds: each pitch is played once by the synthesizer, without effects, and its
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
/**
   Raise the even harmonics of its tones against the odd ones, before any is added.

   As the comb y(t) = x(t) + g x(t - P/2) does, P being a tone's own period: even harmonics
   come to 1 + g, odd ones to 1 - g. A tone's RMS stays, and so does its onset, which is that of
   the combed tone; recorded ones are smeared over half a period. Made ones have the strengths
   that the comb would leave.

   @param even_db By how much, from 0.
*/
void reed_source_raise_even(ReedSource* source, double even_db);
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
