// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file take_maker.h
   Takes of a phrase with faults made on purpose, and the exact truth about them.
   Shares nothing with src/sound, so that a mistake there is not repeated here.
*/

#ifndef TEST_TAKE_MAKER_H
#define TEST_TAKE_MAKER_H

#include "accompaniment.h"
#include "disturbance.h"
#include "hiss.h"
#include "reed_source.h"

#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>

/// One release of air to be taken.
typedef struct {
  unsigned round;
  size_t note;    ///< Index in the phrase; it must be played
  double after_s; ///< Begins so long after the note's own sound
  double length_s;
  double level_db; ///< Against the note's RMS; see hiss_add()
  HissColour colour;
  HissCourse course;
  double dip_db;     ///< What the note does meanwhile
  double bend_cents; ///< … in pitch, negative for flat
} AirPlan;

/// What a take is to be like.
typedef struct {
  uint64_t seed;
  ReedKind kind;
  double attack_ms;    ///< See reed_source_new()
  double even_db;      ///< See reed_source_raise_even()
  double rt60_s;       ///< Reverberation time, 0 for none
  double direct_db;    ///< Direct over reflected sound
  double floor_db;     ///< Noise, dBFS RMS
  double peak_dbfs;    ///< Where the largest sample comes to; over 0, all that is larger is cut off
  double reference_hz; ///< A4
  double detune_cents; ///< Standard deviation of single reeds
  double bpm;          ///< Pulses a minute
  unsigned rounds;
  double pause_s;       ///< Between rounds
  double jitter_ms;     ///< Standard deviation
  double drift_percent; ///< Change of tempo over a round
  double faster;        ///< From the middle on so many times as fast; 0 for the same tempo
  double break_s;       ///< A wait before the note in the middle; 0 for none
  double lilt;          ///< Share by which the first place of a pulse is longer
  double p_long;        ///< Chances of a cut's outcomes; clean is the rest
  double p_on_top;      ///< Joined, the cut sounding on top
  double p_bare;        ///< Joined, no cut at all
  double p_absent;      ///< Separated, no cut
  double p_plain;       ///< Of a written roll: a plain long note instead
  double p_ahead;       ///< Of several graces: before the beat, with their note on it
  bool joined_rows;   ///< Of two repeats in a row, with cuts: joined, only the second's cut on top
  unsigned skip_cuts; ///< Of the notes with cuts each of so many is not played; 0 for none
  double p_missed;    ///< Of notes that are no repetitions
  double p_wrong;
  double p_extra;
  bool octave;       ///< An octave under each note, by the other hand: none under cuts
  double octave_db;  ///< … its level against the note
  int coupled;       ///< Semitones to a reed that sounds with every tone, cuts too: 12, -12, or 0
  double coupled_db; ///< … its level against the tone
  bool key_clicks;
  bool speech;         ///< In the pauses, by espeak-ng
  double metronome_db; ///< Of a click against the notes' RMS; 0 for none
  double overlap_ms;   ///< Most that different notes overlap
  bool false_start;
  bool stop_early;    ///< The last round breaks off half way
  bool hesitate;      ///< Once in each round
  const AirPlan* air; ///< Releases to be taken
  size_t air_count;
  double p_air;        ///< Chance of one more under each note that is long enough
  double air_least_db; ///< … and what it is like, between
  double air_most_db;
  double air_most_s;
  double air_dip_db;     ///< At most
  unsigned disturbances; ///< Bits as in disturbance.h
  AccompanimentPlan accompaniment;
} TakePlan;

/// A plan without faults: a dry room, 440 Hz, 80 pulses a minute, one round.
TakePlan take_plan_default(void);

/// The truth about one written note in one round.
typedef struct {
  size_t index;
  int midi;
  SrNoteStatus status;
  int heard_midi;
  double onset_s;   ///< NAN if missed or joined
  double respeak_s; ///< Its own main sound, after the cut; NAN likewise
  SrAnswer joined;
  bool has_cut; ///< A cut is written and the note was played
  SrCutVerdict verdict;
  double cut_length_ms; ///< NAN if none sounded
  size_t graces;        ///< Of a roll, a cran or a group: those of another pitch than the note's
} TruthNote;

/// One round.
typedef struct {
  double start_s;
  double end_s;
  bool complete;
  TruthNote* notes;
} TruthRound;

/// A stretch in which nothing was played.
typedef struct {
  double start_s;
  double end_s;
  bool speech;
} TruthPause;

/// A release of air.
typedef struct {
  double start_s; ///< Where its power is over a third of its most
  double end_s;
  double level_db;
  int midi; ///< Of the note it lies under
  AirPlan plan;
} TruthAir;

/// A sound below the melody: of the accompaniment, or of a written chord.
typedef struct {
  int midi;
  double onset_s;
  double end_s;
  double gain; ///< RMS, as those of the melody before all is brought to its level
} TruthUnder;

/// A take and the truth about it.
typedef struct {
  float* samples;
  size_t count;
  double rate_hz;
  size_t note_count; ///< Of the phrase
  TruthRound* rounds;
  size_t round_count;
  TruthPause* pauses;
  size_t pause_count;
  TruthAir* air;
  size_t air_count;
  double* extra_s; ///< Onsets of extra notes
  size_t insertion_count;
  TruthUnder* under; ///< What sounds below the melody
  size_t under_count;
  double false_start_end_s; ///< What is before is a false start; 0 without one
  double reference_hz;      ///< For which the played pitches are in tune on the mean
} Take;

/// Make a take; NULL if its reeds cannot be had.
Take* take_make(const SrPhrase* phrase, const TakePlan* plan);
/// Free; NULL does nothing.
void take_del(Take* take);

#endif // TEST_TAKE_MAKER_H
