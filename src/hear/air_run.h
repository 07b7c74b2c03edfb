// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air_run.h
   Windows in a row that hold more noise than is expected: gathered, and weighed whether together
   they are a release of air.
*/

#ifndef SR_HEAR_AIR_RUN_H
#define SR_HEAR_AIR_RUN_H

#include "inter_harmonic_noise.h"

#include <steadyreed/hear.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Its course is kept in blocks of about 7 ms: blocks from one long window to the next, and in all.
#define SR_AIR_HOP_BLOCKS 4.0
#define SR_AIR_BLOCKS 280u
/// Groups of critical bands in which it is looked for.
#define SR_AIR_GROUPS 3u

/// Where the groups start and end, in critical bands.
extern const size_t SR_AIR_GROUP_EDGES[SR_AIR_GROUPS + 1];

/// One window measured.
typedef struct {
  double time_s;       ///< Its centre
  double weight;       ///< 1 for a long window, less for a shorter one
  bool note;           ///< A note sounds in it, else nothing does
  bool doubled;        ///< Notes are doubled, so that which pitch is heard under air wavers
  size_t pitch;        ///< The lowest of its notes, from SR_LOWEST_MIDI
  double power;        ///< Of its notes
  double frequency_hz; ///< NAN if not measured
} SrAirWindow;

/// Blocks that a window reaches into, but for its ends.
#define SR_AIR_PIECE_BLOCKS 9u

/// The course of the noise in one window, in blocks.
typedef struct {
  int64_t first;                     ///< Number of the first block, counted from the origin
  float power[SR_AIR_PIECE_BLOCKS];  ///< Sums over samples, for a mean square of noise of 1
  float weight[SR_AIR_PIECE_BLOCKS]; ///< … of the window's shape
  double squares;                    ///< Of all samples, Hann's window taken off
  double peaked;                     ///< … times the kurtosis of the block they are in
} SrAirPiece;

/// A release that may still go on; zeroed, there is none.
typedef struct {
  bool open;
  int64_t first; ///< Number of its block 0
  double last_flagged_s;
  size_t last_pitch; ///< Of the last window; SR_PITCHES between notes
  double missed;     ///< Weight of the windows in a row that were measured and had nothing
  bool spoilt;       ///< Something else sounded about it
  double windows;    ///< Their weights
  bool brief;        ///< Some were short
  double pitch_windows[SR_PITCHES + 1]; ///< By pitch; the last: between notes
  double reference;                     ///< Sum of the notes' powers
  double most;                          ///< Most noise over what is expected, of its windows
  double last;                          ///< … of the last one
  float hiss[SR_BANDS];                 ///< Sums over windows
  float noise[SR_BANDS];
  float tone[SR_BANDS];
  float place[SR_BANDS];       ///< Weighted by `tone`
  double squares;              ///< Of its samples, Hann's window taken off
  double peaked;               ///< … times the kurtosis of the piece they are in
  float course[SR_AIR_BLOCKS]; ///< Power over what is expected, weighted
  float weight[SR_AIR_BLOCKS];
} SrAirRun;

typedef enum {
  SR_AIR_NOT,    ///< No air, or it cannot be told
  SR_AIR_LIKELY, ///< Air, unless something else sounds about it
  SR_AIR_SURE    ///< Air
} SrAirVerdict;

/// Look how the noise goes in the window that was just measured, whose centre is at a time, s from
/// where blocks are counted; `hop_s` from one long window to the next, s.
SrAirPiece sr_air_piece(SrBetween* between, double rate_hz, double hop_s, double time_s);
/// Sum over the bands in which air is told: 0.5 to 10 kHz.
double sr_air_told(const float* bands);
/// Begin one at a window's time, likewise.
void sr_air_run_open(SrAirRun* run, double hop_s, double time_s, bool spoilt);
/**
   Add a window.

   @param window    What is known of it.
   @param piece     Its course.
   @param reference Power of the note it lies under or behind.
   @param measure   What was measured.
   @param expected  Noise that is expected in each band.
*/
void sr_air_run_add(SrAirRun* run, const SrAirWindow* window, const SrAirPiece* piece,
                    double reference, const SrBetweenMeasure* measure, const float* expected);
/// Whether noise `hiss` in a window, after a stretch that could not be measured, is too unlike the
/// run to go on from it, or lies under another note.
bool sr_air_run_is_another(const SrAirRun* run, const SrAirWindow* window, double hiss);
/**
   Weigh it.

   @param hop_s From one long window to the next, s.
   @param heard Receives all but the note's dip and bend, unless it is SR_AIR_NOT; its times
                likewise.
*/
SrAirVerdict sr_air_run_weigh(const SrAirRun* run, double hop_s, SrAirHeard* heard);

#endif // SR_HEAR_AIR_RUN_H
