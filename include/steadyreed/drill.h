// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file drill.h
   Drills written out as ABC notation, with what they are for and how to count them.
*/

#ifndef STEADYREED_DRILL_H
#define STEADYREED_DRILL_H

#include <steadyreed/phrase.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Kinds of drill.
typedef enum {
  SR_DRILL_CUTS,   ///< Repeated notes with cuts between them
  SR_DRILL_AIR,    ///< Many notes on one bellows direction, then one on the other with air asked
  SR_DRILL_STEADY, ///< Even notes, some bars with the click and some without
} SrDrillKind;

/// Most pitches of a run.
#define SR_DRILL_RUN 16

/// What drill is wanted; fill with sr_drill_plan_default().
typedef struct {
  SrDrillKind kind;
  char key[4];             ///< Major key: C, G, D, A, F or Bb
  int midi;                ///< CUTS, STEADY: the note, 48 to 84
  int cut_midi;            ///< CUTS: the cut's; 0 for the third above in the key
  int count;               ///< CUTS: notes of one pitch in a row, 2 or 3
  bool between;            ///< CUTS: a moving note stands between the groups, else a rest
  int bars;                ///< Bars, 1 to 32; AIR: how often the run and its answer come
  double bpm;              ///< Pulses a minute, 20 to 300
  SrDirection direction;   ///< AIR: that of the run, press or draw
  int run[SR_DRILL_RUN];   ///< AIR: its pitches in order
  size_t run_count;        ///< AIR: 3 to SR_DRILL_RUN
  bool both[SR_DRILL_RUN]; ///< AIR: which of them exist in both directions, to be marked
  int answer;              ///< AIR: the pitch in the other direction, with air
  bool answer_both;        ///< AIR: whether it exists in both
  int with_click;          ///< STEADY: bars with the click, 1 to 16, and then
  int without_click;       ///< STEADY: so many without, 0 to 16
} SrDrillPlan;

/// A drill of a kind as for a first day: A with its cuts in threes in D; a run on press; four bars
/// with the click and four without.
SrDrillPlan sr_drill_plan_default(SrDrillKind kind);

/**
   Write a drill.

   @param plan  What is wanted.
   @param text  Receives ABC text, ending in a line end and NUL; free() it. NULL on error.
   @param error Filled on error; may be NULL.
   @return SR_OK, SR_BAD_ARGUMENT with a sentence, or SR_NO_MEMORY.
*/
SrStatus sr_drill_write(const SrDrillPlan* plan, char** text, SrError* error);

/// The pitch so many steps of the scale above a pitch in a major key; -1 if there is no such key.
int sr_drill_scale_above(const char* key, int midi, int steps);
/// Whether a pitch belongs to a major key.
bool sr_drill_in_key(const char* key, int midi);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_DRILL_H
