// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file moves.h
   What can be done at each note and what it costs. Search and checking share it, so that they
   count alike; neither knows the other.
*/

#ifndef SR_PLAN_MOVES_H
#define SR_PLAN_MOVES_H

#include <steadyreed/plan.h>

/// Most ways to sound one note.
#define SR_MOST_WAYS 16u
/// Air is taken in steps: units of one step, and most steps at a note.
#define SR_AIR_STEP 10
#define SR_MOST_AIR_STEPS 6
/// A note shorter than this cannot hide air, s; nor its first and last moments, s in all.
#define SR_HIDES_S 0.25
#define SR_HIDES_EDGES_S 0.15

/// One way to sound a note.
typedef struct {
  size_t button;
  SrDirection direction;
  long cut_button; ///< -1 without
  int cut_midi;    ///< -1 without
  int own_cost;    ///< Of finger, row, hand and cut, whatever comes before
} SrWay;

/// All that is known of a note before anything is chosen.
typedef struct {
  SrWay ways[SR_MOST_WAYS];
  size_t way_count;
  double seconds;
  int use;         ///< Units it takes
  int air_steps;   ///< Most steps of air
  int air_cost;    ///< Of taking any
  bool on_pulse;   ///< Begins with a pulse
  bool after_rest; ///< The hand has time before it
  bool repeats;    ///< The pitch of the note before
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

/// What a cost is made of.
typedef struct {
  int turn;
  int flat;
  int jump;
  int row;
  int apart;
} SrStepCost;

/// Work it all out. Errors as for sr_plan(). Clear it in any case.
SrStatus sr_moves_new(const SrPhrase* phrase, const SrInstrument* instrument,
                      const SrPlanSettings* settings, SrMoves* moves, SrError* error);
/// Free what it holds.
void sr_moves_clear(SrMoves* moves);
/// The parts of what it costs to go from a way of note `note` - 1 to one of `note`.
SrStepCost sr_moves_step(const SrMoves* moves, size_t note, const SrWay* from, const SrWay* to);
/// Their sum.
int sr_moves_step_cost(const SrMoves* moves, size_t note, const SrWay* from, const SrWay* to);
/// What it costs to be so far open, `after` a note played in a direction.
int sr_moves_room_cost(const SrMoves* moves, SrDirection direction, int after);
/// What so many steps of air cost at a note behind which the bellows are open `after`.
int sr_moves_air_cost(const SrMoves* moves, size_t note, int steps, int after);

#endif // SR_PLAN_MOVES_H
