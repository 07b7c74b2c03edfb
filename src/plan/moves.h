// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file moves.h
   The possible moves at each note and their costs. Shared by search and checking, so that both
   count the same; neither knows the other.
*/

#ifndef SR_PLAN_MOVES_H
#define SR_PLAN_MOVES_H

#include <steadyreed/plan.h>

#include <stdint.h>

/// Most ways to sound one note.
#define SR_MOST_WAYS 24u
/// Step size of air, units, and most steps at one note.
#define SR_AIR_STEP 10
#define SR_MOST_AIR_STEPS 6
/// A shorter note, s, cannot hide air; nor can its first and last moments, s in all.
#define SR_HIDES_S 0.25
#define SR_HIDES_EDGES_S 0.15
/// After this time, s, a hand is ready for any button.
#define SR_HAND_READY_S 0.8

/// One way to sound a note.
typedef struct {
  size_t button;
  SrDirection direction;
  SrFinger finger;
  SrHand hand;
  int row;
  int finger_cost; ///< Of finger and row
  int own_cost;    ///< That, and of leaving home: whatever precedes
} SrWay;

/// Data of a note before anything is chosen.
typedef struct {
  SrWay ways[SR_MOST_WAYS];
  size_t way_count;
  double onset_s; ///< From the start of the phrase
  double seconds; ///< Its length
  int use;        ///< Units of bellows used
  int air_steps;  ///< Most steps of air
  int air_cost;   ///< Fixed cost of taking air
  bool repeats;   ///< Same pitch as the note before
  bool has_cut;
  bool air_asked;
  size_t bar;       ///< Index of its bar as played
  bool closes_pair; ///< The last note of two whole bars; see `flat`
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

/// What a hand played last.
typedef struct {
  size_t note;
  const SrWay* way; ///< NULL for nothing, or long ago
} SrLast;

/// Parts of a step's cost.
typedef struct {
  int turn;
  int jump;
  int row;
  int apart;
} SrStepCost;

/// Prepare the moves. Errors as for sr_plan(). Clear them in any case.
SrStatus sr_moves_new(const SrPhrase* phrase, const SrInstrument* instrument,
                      const SrPlanSettings* settings, SrMoves* moves, SrError* error);
/// Free what it holds.
void sr_moves_clear(SrMoves* moves);
/// Cost of a finger on a button, whose own it may not be.
int sr_moves_finger_cost(const SrPlanStyle* style, SrFinger finger, const SrButton* button);
/**
   Parts of the cost of a step to note `note`, over 0.

   @param from How the note before it is played.
   @param last What the hand of `to` played last: that note, or one before it.
   @param to   How it is played.
*/
SrStepCost sr_moves_step(const SrMoves* moves, size_t note, const SrWay* from, SrLast last,
                         const SrWay* to);
/// Their sum.
int sr_moves_step_sum(SrStepCost cost);
/// Whether a hand's last note is still remembered at note `note`.
bool sr_moves_remembers(const SrMoves* moves, size_t last, size_t note);
/// Cost of low room with the opening `after` a note in a direction.
int sr_moves_room_cost(const SrMoves* moves, SrDirection direction, int after);
/// Cost of `steps` steps of air at a note that leaves the bellows open `after`.
int sr_moves_air_cost(const SrMoves* moves, size_t note, int steps, int after);
/// The pin of a kind on a note; NULL without one.
const SrPin* sr_moves_pin(const SrPlanSettings* settings, size_t note, SrPinKind kind);
/// The finger that can take a button instead of its own; its own if none can.
SrFinger sr_moves_other_finger(SrFinger finger);

#endif // SR_PLAN_MOVES_H
