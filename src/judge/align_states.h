// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file align_states.h
   The states of an alignment (align.h), the moves between them, and what is kept of it.
*/

#ifndef SR_JUDGE_ALIGN_STATES_H
#define SR_JUDGE_ALIGN_STATES_H

#include "align.h"

#include <stdint.h>

/// No sound.
#define NO_EVENT SIZE_MAX
/// Number of sounds for which the cells are kept: the furthest an alignment can resume from.
#define ROWS 32u

/// The best way into a state.
typedef struct {
  float cost;
  float log_spw; ///< Logarithm of the seconds per whole note
  float log_odd; ///< The same of the last step
  int odd_steps; ///< Number of last steps that agree on another tempo
  int steps;     ///< Number of steps behind `log_spw`; 0 if unknown
  double onset;  ///< Of the last note begun, its cut included
  size_t event;  ///< Its main sound; NO_EVENT if none
  double cut_s;  ///< Onset of the cut heard for the next note, if the state has one
  double cut_end_s;
  int from_note; ///< The note that `onset` stands for; -1 if none
  int cut_midi;  ///< Of the cut heard for the next note
} SrAlignCell;

/// How one sound led into a state.
typedef struct {
  uint16_t state; ///< Before the sound
  uint8_t role;
  uint8_t on_top; ///< A cut on the previous note, or a note that corrects another
} SrAlignStep;

/// A note of the phrase, cached.
typedef struct {
  const SrPhraseNote* written;
  double start; ///< Whole notes
  float pitch;  ///< Pitch cost of the current sound in its place
  bool repeats; ///< As sr_note_repeats()
} SrAlignPlace;

typedef struct {
  const SrPhrase* phrase;
  const SrEvent* events;
  size_t count;
  const SrJudgeSettings* settings;
  size_t notes;
  size_t states; ///< 2 * (notes + 1): (last note begun + 1) * 2, plus 1 if a cut is heard
  SrAlignCell* now;
  SrAlignCell* next;
  SrAlignStep* steps;
  bool below;    ///< There may be sounds below the melody
  bool going_on; ///< The phrase is still being played
  unsigned char* under;
  SrAlignPlace* places;   ///< One per note
  const int* first_times; ///< As in the memory
  double likely_bpm;
  double pulse;      ///< Of the first bar, whole notes
  double long_note;  ///< Shortest long note, whole notes
  double last_end_s; ///< Of all sounds so far
} SrAligner;

/// The alignment of some sounds, and its state after the last of them.
struct SrAlignMemoryImpl {
  const SrPhrase* phrase;
  double likely_bpm;
  double joined_fall_db; ///< The setting that alignment depends on besides the tempo
  bool below;            ///< As in SrAligner
  size_t states;
  size_t count; ///< Sounds
  size_t room;
  SrEvent* events;
  unsigned char* under;
  SrAlignStep* steps;
  int* first_times;  ///< From find_first_times()
  SrAlignCell* rows; ///< Ring of ROWS: the cells after each number of sounds
  size_t oldest;     ///< The oldest row still in the ring
};

// align_moves.c

/// Cost of a sound's pitch in the place of a note.
float sr_align_pitch_cost(const SrPhraseNote* note, const SrEvent* event);
/// The cheapest state.
size_t sr_align_cheapest(const SrAligner* aligner);
/// The cost of having stopped after `begun` notes.
float sr_align_unfinished_cost(const SrAligner* aligner, size_t begun);
/// Whether a note's bar has a lower number than the one before it: a repeat.
bool sr_align_is_repeat(const SrAligner* aligner, size_t note);
/// Offer all that a sound can be in a state: an insertion, a cut or grace, part of a roll or of a
/// long note, or one of the next notes.
void sr_align_try_moves(SrAligner* aligner, size_t event, size_t state);
/// Begin the phrase again, go back, or skip ahead: to the sound as a note, or as the cut that leads
/// into it.
void sr_align_try_leaping(SrAligner* aligner, size_t event);

// align_memory.c

/// Make room for an alignment, and discard what belongs to another phrase or setting. False if out
/// of memory.
bool sr_align_memory_open(SrAlignMemory* memory, const SrAligner* aligner);
/// Free what it holds.
void sr_align_memory_clear(SrAlignMemory* memory);
/// The cells after a number of sounds.
SrAlignCell* sr_align_row_after(const SrAlignMemory* memory, size_t sounds);
/// Whether two sounds are identical in every field that alignment reads.
bool sr_align_same_event(const SrEvent* one, const SrEvent* other);

#endif // SR_JUDGE_ALIGN_STATES_H
