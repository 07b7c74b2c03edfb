// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air_run.h
   A run of consecutive windows with more noise than expected, and the decision whether it is a
   release of air.
*/

#ifndef SR_HEAR_AIR_RUN_H
#define SR_HEAR_AIR_RUN_H

#include "inter_harmonic_noise.h"

#include <steadyreed/hear.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// The envelope of a run is kept in blocks of about 7 ms: blocks per hop of the long windows, and
/// most blocks of a run.
#define SR_AIR_HOP_BLOCKS 4.0
#define SR_AIR_BLOCKS 280u
/// Groups of critical bands in which air is looked for.
#define SR_AIR_GROUPS 3u

/// Limits of the groups, in critical bands.
extern const size_t SR_AIR_GROUP_EDGES[SR_AIR_GROUPS + 1];

/// One measured window.
typedef struct {
  double time_s;       ///< Its centre
  double weight;       ///< 1 for a long window, less for a shorter one
  bool note;           ///< A note sounds in it; otherwise nothing does
  bool doubled;        ///< Notes are doubled, so the pitch detected under air fluctuates
  size_t pitch;        ///< The lowest of its notes, from SR_LOWEST_MIDI
  double power;        ///< Of its notes
  double frequency_hz; ///< NAN if not measured
} SrAirWindow;

/// Blocks covered by a window, without its ends.
#define SR_AIR_PIECE_BLOCKS 9u

/// Noise envelope of one window, in blocks.
typedef struct {
  int64_t first;                     ///< Number of the first block, counted from the origin
  float power[SR_AIR_PIECE_BLOCKS];  ///< Sums over samples, for a mean square of noise of 1
  float weight[SR_AIR_PIECE_BLOCKS]; ///< The same of the window function
  double squares;                    ///< Of all samples, with the Hann window divided out
  double peaked;                     ///< The same times the kurtosis of their piece
} SrAirPiece;

/// A run that may still continue; zero-initialised, there is none.
typedef struct {
  bool open;
  int64_t first; ///< Number of its block 0
  double last_flagged_s;
  size_t last_pitch; ///< Of the last window; SR_PITCHES between notes
  double missed; ///< Weight of the consecutive windows since then that were measured and had no air
  bool spoilt;   ///< Something else sounded near it
  double windows;                       ///< Sum of their weights
  bool brief;                           ///< Some were short
  double pitch_windows[SR_PITCHES + 1]; ///< By pitch; the last one: between notes
  double reference;                     ///< Sum of the notes' powers
  double most;                          ///< Largest excess noise of a window
  double last;                          ///< Excess noise of the last window
  float hiss[SR_BANDS];                 ///< Sums over windows
  float noise[SR_BANDS];
  float tone[SR_BANDS];
  float place[SR_BANDS];       ///< Weighted by `tone`
  double squares;              ///< Of its samples, with the Hann window divided out
  double peaked;               ///< The same times the kurtosis of their piece
  float course[SR_AIR_BLOCKS]; ///< Excess power, weighted
  float weight[SR_AIR_BLOCKS];
} SrAirRun;

typedef enum {
  SR_AIR_NOT,    ///< No air, or undecidable
  SR_AIR_LIKELY, ///< Air, unless something else sounds near it
  SR_AIR_SURE    ///< Air
} SrAirVerdict;

/// The noise envelope of the window just measured, centred at `time_s` from the origin of the
/// blocks; `hop_s` is the hop of the long windows, s.
SrAirPiece sr_air_piece(SrInterHarmonic* between, double rate_hz, double hop_s, double time_s);
/// Sum over the bands in which air is measured: 0.5 to 10 kHz.
double sr_air_reported(const float* bands);
/// Start a run at a window's time; times as above.
void sr_air_run_open(SrAirRun* run, double hop_s, double time_s, bool spoilt);
/**
   Add a window.

   @param window    What is known of it.
   @param piece     Its envelope.
   @param reference Power of the note it lies under or follows.
   @param measure   What was measured.
   @param expected  Expected noise in each band.
*/
void sr_air_run_add(SrAirRun* run, const SrAirWindow* window, const SrAirPiece* piece,
                    double reference, const SrInterHarmonicMeasure* measure, const float* expected);
/// Whether a window after a gap cannot continue the run: its noise `hiss` is too different, or it
/// lies under another note.
bool sr_air_run_is_another(const SrAirRun* run, const SrAirWindow* window, double hiss);
/**
   Decide on a run.

   @param hop_s Hop of the long windows, s.
   @param heard Receives all but the note's dip and bend, unless the verdict is SR_AIR_NOT; times
                from the origin of the blocks.
*/
SrAirVerdict sr_air_run_weigh(const SrAirRun* run, double hop_s, SrAirHeard* heard);

#endif // SR_HEAR_AIR_RUN_H
