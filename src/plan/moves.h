// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file moves.h
   The possible moves at each note and their costs. Shared by search and checking, so that both
   count alike; neither knows the other.
*/

#ifndef SR_PLAN_MOVES_H
#define SR_PLAN_MOVES_H

#include <steadyreed/plan.h>

/// Most ways to sound one note.
#define SR_MOST_WAYS 16u
/// Step size of air, units, and most steps at one note.
#define SR_AIR_STEP 10
#define SR_MOST_AIR_STEPS 6
/// A shorter note, s, cannot hide air; nor can its first and last moments, s in all.
#define SR_HIDES_S 0.25
#define SR_HIDES_EDGES_S 0.15

/// One way to sound a note.
typedef struct {
  size_t button;
  SrDirection direction;
  long cut_button; ///< -1 for none
  int cut_midi;    ///< -1 for none
  int own_cost;    ///< Cost of finger, row, hand and cut, regardless of what precedes
} SrWay;

/// Data of a note before anything is chosen.
typedef struct {
  SrWay ways[SR_MOST_WAYS];
  size_t way_count;
  double seconds;
  int use;         ///< Units of bellows used
  int air_steps;   ///< Most steps of air
  int air_cost;    ///< Fixed cost of taking air
  bool on_pulse;   ///< Begins on a pulse
  bool after_rest; ///< The hand has time to move before it
  bool repeats;    ///< Same pitch as the note before
  bool has_cut;
  bool air_asked;
} SrChoice;

/// A phrase on an instrument.
typedef struct {
  const SrPhrase* phrase;
  const SrInstrument* instrument;
  const SrPlanSettings* settings;
  SrChoice* choices;
  size_t count;
  int start; ///< Opening at the start, units
} SrMoves;

/// Parts of a step's cost.
typedef struct {
  int turn;
  int flat;
  int jump;
  int row;
  int apart;
} SrStepCost;

/// Prepare the moves. Errors as for sr_plan(). Clear them in any case.
SrStatus sr_moves_new(const SrPhrase* phrase, const SrInstrument* instrument,
                      const SrPlanSettings* settings, SrMoves* moves, SrError* error);
/// Free what it holds.
void sr_moves_clear(SrMoves* moves);
/// Parts of the cost from a way of note `note` - 1 to one of `note`.
SrStepCost sr_moves_step(const SrMoves* moves, size_t note, const SrWay* from, const SrWay* to);
/// Their sum.
int sr_moves_step_cost(const SrMoves* moves, size_t note, const SrWay* from, const SrWay* to);
/// Cost of low room with the opening `after` a note in a direction.
int sr_moves_room_cost(const SrMoves* moves, SrDirection direction, int after);
/// Cost of `steps` steps of air at a note that leaves the bellows open `after`.
int sr_moves_air_cost(const SrMoves* moves, size_t note, int steps, int after);

#endif // SR_PLAN_MOVES_H
