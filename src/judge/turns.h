// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file turns.h
   Where the beat of a round turned: the change to a linear model that explains most.
*/

#ifndef SR_JUDGE_TURNS_H
#define SR_JUDGE_TURNS_H

#include <stdbool.h>
#include <stddef.h>

/// Most turns of a round.
#define SR_MOST_TURNS 6u

/// What happens to the beat.
typedef enum {
  SR_TURN_JUMP, ///< Another tempo at once; its column is the time since, in pulses
  SR_TURN_BEND, ///< The tempo grows or shrinks evenly from there on: that time squared
  SR_TURN_WAIT, ///< All from there on comes later, or sooner, by the same: 1
  SR_TURN_STRAY ///< What comes there does so at another time, and nothing else: 1 only there
} SrTurnKind;

/// One turn of the beat.
typedef struct {
  SrTurnKind kind;
  double from; ///< Pulses from the beginning of the phrase
  double to;   ///< JUMP: the tempo before it is back from here on; else, or if it never was,
               ///< INFINITY
} SrTurn;

/// What is known before one is looked for.
typedef struct {
  size_t rows;          ///< Onsets, in order, at least 1
  size_t columns;       ///< Of the model so far, at most 40
  const double* matrix; ///< `rows` times `columns`, row by row
  const double* values; ///< `rows` onsets, s
  const double* pulses; ///< `rows` places in the phrase, never falling
  double pulse_s;       ///< Usual length of a pulse, s: a jump is told by its share of it
  double noticeable_s;  ///< What is off by less is as good as in time
  const SrTurn* turns;  ///< Those that the model has; another one keeps its distance
  size_t turn_count;
  size_t most_strays; ///< Of these and the next one
} SrTurnSearch;

/// Column of a turn at a place of the phrase, in pulses.
double sr_turn_column(const SrTurn* turn, double pulses);
/// Whether the tempo is another from there on.
bool sr_turn_is_of_tempo(const SrTurn* turn);
/// Places that it has: 1 or 2.
size_t sr_turn_places(const SrTurn* turn);

/**
   How badly a model explains a round: the Bayesian information criterion (Schwarz 1978), the
   variance being that of the model's degrees of freedom. What cannot be noticed counts as nothing.

   @param squares      Sum of the squared offsets, s squared.
   @param rows         Onsets.
   @param columns      Parameters that the model could tell.
   @param places       Places that were looked for, on top of these.
   @param noticeable_s As in SrTurnSearch.
*/
double sr_model_badness(double squares, size_t rows, size_t columns, size_t places,
                        double noticeable_s);

/**
   Find the turn that makes the model least bad.

   @param search What is known.
   @param best   Receives it.
   @param found  Receives whether there is one that makes it less bad than it is.
   @return False without memory.
*/
bool sr_turn_find(const SrTurnSearch* search, SrTurn* best, bool* found);

#endif // SR_JUDGE_TURNS_H
