// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transcribe.h
   What a recording holds, as ABC notation: the notes with their graces, rests, bars, key and tempo,
   none of which is known beforehand.

   The take is heard twice. The first hearing tells which pitches are played; the second one listens
   for these. Its sounds become notes and graces (sr_played_notes_make()), their times a score
   (sr_score_make()), and that a text (sr_score_write()).
*/

#ifndef STEADYREED_TRANSCRIBE_H
#define STEADYREED_TRANSCRIBE_H

#include <steadyreed/declarations.h>
#include <steadyreed/hear.h>
#include <steadyreed/listen.h>
#include <steadyreed/ornament.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

SR_BEGIN_DECLARATIONS

/// Most graces before one note that are kept.
#define SR_PLAYED_GRACES 4

/// A note that was played.
typedef struct {
  double onset_s; ///< Start, of its first grace where it has one
  double end_s;
  int midi;
  int grace_count;                  ///< 0 to SR_PLAYED_GRACES
  int grace_midi[SR_PLAYED_GRACES]; ///< MIDI notes in order
  bool air;                         ///< Air was released under it
  double grace_nats; ///< Log odds, before its time is looked at, that it is no note but a long
                     ///< grace of the next one; NAN if it surely is a note
  int grace_pitch;   ///< MIDI note of that grace: in octaves it may be 12 over `midi`
} SrPlayedNote;

/// The notes of a take, in order of their start.
typedef struct {
  SrPlayedNote* notes;
  size_t count;
  double reference_hz; ///< A4 of the instrument
  bool doubled;        ///< Each note sounded with its octave below; only the upper one is here
} SrPlayedNotes;

/// Whether the left hand doubles each note by its octave below.
typedef enum {
  SR_OCTAVES_GUESS,   ///< It is not known: by how low the notes lie, and how high graces lie above
  SR_OCTAVES_DOUBLED, ///< It does
  SR_OCTAVES_SINGLE,  ///< It does not
} SrOctaves;

/**
   Hear a take without a phrase.

   @param source  The take, at its first sample.
   @param loudest Index of its loudest sample; see sr_calibration_align_to().
   @param rate_hz As for sr_hear_new().
   @param octaves What is known of octaves.
   @param played  Receives the notes; free it with sr_played_notes_clear(). Empty on error.
   @return SR_OK, SR_BAD_ARGUMENT, SR_NO_MEMORY, or what `rewind` returns.
*/
SrStatus sr_played_notes_make(const SrTakeSource* source, int64_t loudest, double rate_hz,
                              SrOctaves octaves, SrPlayedNotes* played, SrError* error);
/// Free what it holds.
void sr_played_notes_clear(SrPlayedNotes* played);

/// What the player knows already; fill with sr_score_wish_none().
typedef struct {
  const char* key;     ///< As K: has it, such as "D" or "Edor"; NULL to guess
  int meter_beats;     ///< Upper figure of the meter, 0 to guess
  int meter_unit;      ///< Lower figure
  double tempo_bpm;    ///< Pulses a minute; NAN to guess
  double reference_hz; ///< A4 of the box, where notes may have either name; NAN to guess
  double
      upbeat_quavers; ///< Quavers before the first whole bar, in halves; 0 for none, NAN to guess
  double click_s;     ///< Time of one of a metronome's clicks; NAN without one
  double click_period_s; ///< From click to click
} SrScoreWish;

/// Longest upbeat, quavers.
#define SR_MOST_UPBEAT 11.5

/// Nothing is known.
SrScoreWish sr_score_wish_none(void);

/// A note of a score.
typedef struct {
  SrPlayedNote played; ///< With all its graces
  long start;          ///< From the start of the first bar, SR_SCORE_PLACES to a quaver
  long length;         ///< Likewise; over 0
  bool breaks;         ///< It begins after a break, in a bar of its own
  bool doubtful;       ///< Its first grace may as well be a short note
} SrScoreNote;

/// Places in a quaver: halves and thirds of one are whole numbers.
#define SR_SCORE_PLACES 6

/// A score, and how sure what was guessed is, 0 to 1; 1 for what was known.
typedef struct {
  SrScoreNote* notes;
  size_t count;
  int meter_beats;
  int meter_unit;
  double sure_meter;
  int pulse_quavers;  ///< Quavers in a pulse
  double tempo_bpm;   ///< Pulses a minute
  double sure_tempo;  ///< That it is none of twice or half of it, or that of another kind of meter
  double other_bpm;   ///< The next likely tempo, NAN without one
  bool other_meter;   ///< That tempo goes with another kind of meter
  long upbeat;        ///< Places before the first whole bar, 0 for none
  double sure_upbeat; ///< That the first bar begins there
  char key[8];        ///< As K: has it
  double sure_key;    ///< That it has this signature
  double off_s;       ///< How far notes are from their places, standard deviation, s
  double reference_hz;
  bool renamed; ///< The notes have another name than the pitch nearest to A 440 Hz would give
  bool clicked; ///< The bars are those of a metronome
  bool doubled; ///< Each note sounded with its octave below, which is not written
} SrScore;

/**
   Lay what was played out in bars.

   @param played Its notes get other names where `reference_hz` or the key asks for that.
   @param wish   NULL for nothing known.
   @param score  Receives it; free it with sr_score_clear(). Empty on error.
   @return SR_OK, SR_BAD_ARGUMENT (no such key or meter), SR_NOTHING_HEARD or SR_NO_MEMORY.
*/
SrStatus sr_score_make(SrPlayedNotes* played, const SrScoreWish* wish, SrScore* score,
                       SrError* error);
/// Free what it holds.
void sr_score_clear(SrScore* score);
/**
   Where the notes from the start of a score come again after a break, as in two rounds of a phrase.

   @param starts_s Receives the times where they begin, the first of them that of the first note, s.
   @param most     Its room.
   @return How many times they come: 1 if they do not come again.
*/
size_t sr_score_rounds(const SrScore* score, double* starts_s, size_t most);
/**
   Write a score as a tune in ABC notation 2.1.

   @param title One line of UTF-8.
*/
void sr_score_write(FILE* stream, const SrScore* score, const char* title);

SR_END_DECLARATIONS

#endif // STEADYREED_TRANSCRIBE_H
