// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file path.h
   One way through all notes, and its cost note by note: a plain walk that shares nothing with the
   search but the prices of the moves.
*/

#ifndef SR_PLAN_PATH_H
#define SR_PLAN_PATH_H

#include "moves.h"

/// The choice at a note.
typedef struct {
  size_t way; ///< Index in its SrChoice
  int air;    ///< Steps
  int before; ///< Opening before it, units
} SrChosen;

/// Cost of one note of a path.
typedef struct {
  SrStepCost step; ///< From the note before it
  int flat;
  int room;
  int air;
  int own;    ///< Of its way
  int finger; ///< The part of `own` that is of finger and row
} SrNoteCost;

/// Opening of the bellows after a note.
int sr_path_after(const SrMoves* moves, const SrChosen* chosen, size_t note);
/// Cost of each note of a path; `costs` receives one entry for each.
void sr_path_costs(const SrMoves* moves, const SrChosen* chosen, SrNoteCost* costs);
/// Sum of all parts.
int sr_path_sum(const SrNoteCost* cost);
/// What of it is hard for hand and bellows.
int sr_path_hand(const SrNoteCost* cost);
/// What the hand of a note's way played last before it.
SrLast sr_path_last(const SrMoves* moves, const SrChosen* chosen, size_t note, SrHand hand);

#endif // SR_PLAN_PATH_H
