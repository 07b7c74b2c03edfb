// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file turns.h
   Where the beat of a round changed: the one extra column that explains most in a linear model.
*/

#ifndef SR_JUDGE_TURNS_H
#define SR_JUDGE_TURNS_H

#include <stdbool.h>
#include <stddef.h>

/// Most turns in a round.
#define SR_MOST_TURNS 6u

/// Kinds of change, with the column each adds to the model.
typedef enum {
  SR_TURN_JUMP, ///< A new tempo at once: pulses since then
  SR_TURN_BEND, ///< A steady change of tempo from there on: pulses since then, squared
  SR_TURN_WAIT, ///< Everything from there on is later or earlier by the same amount: 1
  SR_TURN_STRAY ///< One onset is off and nothing else: 1 only there
} SrTurnKind;

/// One turn of the beat.
typedef struct {
  SrTurnKind kind;
  double from; ///< Pulses from the start of the phrase
  double to; ///< JUMP: the earlier tempo is back from here on; INFINITY if it never returns and for
             ///< other kinds
} SrTurn;

/// Input of the search for a turn.
typedef struct {
  size_t rows;          ///< Onsets, in order, at least 1
  size_t columns;       ///< Of the model so far, at most 40
  const double* matrix; ///< `rows` times `columns`, row by row
  const double* values; ///< `rows` onsets, s
  const double* pulses; ///< `rows` places in the phrase, never falling
  double pulse_s;       ///< Usual length of a pulse, s: the size of a jump is measured against it
  double noticeable_s;  ///< Displacements below this are inaudible, s
  const SrTurn* turns;  ///< Turns already in the model; a new one keeps its distance
  size_t turn_count;
  size_t most_strays; ///< Most strays, the new one included
} SrTurnSearch;

/// Value of a turn's column at a place of the phrase, in pulses.
double sr_turn_column(const SrTurn* turn, double pulses);
/// Whether the tempo is different from there on.
bool sr_turn_is_of_tempo(const SrTurn* turn);
/// Number of places that define it: 1 or 2.
size_t sr_turn_places(const SrTurn* turn);

/**
   Badness of fit: the Bayesian information criterion (Schwarz 1978), with the variance over the
   degrees of freedom. Two bars have hardly more onsets than parameters, for which it is too kind:
   there Akaike's, corrected for few (Hurvich and Tsai 1989, Biometrika 76:297-307, from memory),
   asks for more, and counts. Inaudible displacements count as nothing.

   @param squares      Sum of the squared offsets, s squared.
   @param rows         Onsets.
   @param columns      Parameters that could be determined.
   @param places       Number of places searched for, in addition to the parameters.
   @param noticeable_s As in SrTurnSearch.
*/
double sr_model_badness(double squares, size_t rows, size_t columns, size_t places,
                        double noticeable_s);

/**
   Find the turn that reduces the badness of the model most.

   @param search The model so far.
   @param best   Receives the turn.
   @param found  Receives whether any turn reduces the badness.
   @return False if out of memory.
*/
bool sr_turn_find(const SrTurnSearch* search, SrTurn* best, bool* found);

#endif // SR_JUDGE_TURNS_H
