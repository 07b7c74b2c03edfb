// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file main_tempo.h
   A round's main tempo, and the stretches at another tempo.
*/

#ifndef SR_JUDGE_MAIN_TEMPO_H
#define SR_JUDGE_MAIN_TEMPO_H

#include "turns.h"

/// A part of the round between two tempo jumps.
typedef struct {
  double from; ///< Pulses from the start of the phrase
  double to;
  double more_s; ///< What the jumps add to each of its pulses
  bool aside;    ///< It is not at the round's main tempo
} SrPiece;

/// The tempo jumps of a round.
typedef struct {
  SrPiece pieces[2 * SR_MOST_TURNS + 1]; ///< In order
  size_t count;
  double own_s; ///< `more_s` of the main tempo; NAN if there is none
} SrCourse;

/**
   Find the tempo jumps of a round.

   @param turns   Turns of its beat.
   @param sizes   Fitted size of each turn.
   @param count   Number of turns, at most SR_MOST_TURNS.
   @param first   Where the round begins, in pulses.
   @param end     Where it ends, after `first`.
   @param pulse_s Usual length of a pulse, s.
*/
SrCourse sr_course_find(const SrTurn* turns, const double* sizes, size_t count, double first,
                        double end, double pulse_s);
/// How much longer a pulse is here than at the main tempo, s; 0 if there is no main tempo.
double sr_course_aside(const SrCourse* course, double pulses);
/// Whether a place lies in a stretch at another tempo.
bool sr_course_is_aside(const SrCourse* course, double pulses);

#endif // SR_JUDGE_MAIN_TEMPO_H
