// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file drill.h
   Drills written as ABC notation, with their purpose and how to count them.
*/

#ifndef STEADYREED_DRILL_H
#define STEADYREED_DRILL_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>

SR_BEGIN_DECLARATIONS

/// Kinds of drill.
typedef enum {
  SR_DRILL_CUTS, ///< Repeated notes with cuts between them
  SR_DRILL_AIR,  ///< Many notes in one bellows direction, then one in the other with air requested
  SR_DRILL_STEADY, ///< Even notes, some bars with the click and some without
} SrDrillKind;

/// Most pitches in a run.
#define SR_DRILL_RUN 16

/// Description of a drill; fill with sr_drill_plan_default().
typedef struct {
  SrDrillKind kind;
  char key[4];             ///< Major key: C, G, D, A, F or Bb
  int midi;                ///< CUTS, STEADY: the note, 48 to 84
  int cut_midi;            ///< CUTS: the cut's pitch; 0 for the third above in the key
  int count;               ///< CUTS: notes of one pitch in a row, 2 or 3
  bool between;            ///< CUTS: a moving note stands between the groups, otherwise a rest
  int bars;                ///< Bars, 1 to 32; AIR: repetitions of the run and its answer
  double bpm;              ///< Pulses a minute, 20 to 300
  SrDirection direction;   ///< AIR: direction of the run, press or draw
  int run[SR_DRILL_RUN];   ///< AIR: its pitches in order
  size_t run_count;        ///< AIR: 3 to SR_DRILL_RUN
  bool both[SR_DRILL_RUN]; ///< AIR: which of them exist in both directions and need marking
  int answer;              ///< AIR: the pitch in the other direction, with air
  bool answer_both;        ///< AIR: whether it exists in both directions
  int with_click;          ///< STEADY: bars with the click, 1 to 16, and then
  int without_click;       ///< STEADY: bars without, 0 to 16
} SrDrillPlan;

/// Beginner's drill of a kind: A with its cuts in threes in D; a run on press; four bars with the
/// click and four without.
SrDrillPlan sr_drill_plan_default(SrDrillKind kind);

/**
   Write a drill.

   @param plan  The drill.
   @param text  Receives ABC text that ends in a newline and NUL; free() it. NULL on error.
   @param error Filled on error; may be NULL.
   @return SR_OK, SR_BAD_ARGUMENT with a message, or SR_NO_MEMORY.
*/
SrStatus sr_drill_write(const SrDrillPlan* plan, char** text, SrError* error);

/// The pitch `steps` scale steps above a pitch in a major key; -1 if there is no such key.
int sr_drill_scale_above(const char* key, int midi, int steps);
/// Whether a pitch belongs to a major key.
bool sr_drill_in_key(const char* key, int midi);

SR_END_DECLARATIONS

#endif // STEADYREED_DRILL_H
