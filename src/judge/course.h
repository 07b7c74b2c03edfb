// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file course.h
   Which tempo is a round's own, and where it was another for a while.
*/

#ifndef SR_JUDGE_COURSE_H
#define SR_JUDGE_COURSE_H

#include "turns.h"

/// A part of the round between two places where its tempo jumped.
typedef struct {
  double from; ///< Pulses from the beginning of the phrase
  double to;
  double more_s; ///< What the jumps add to each pulse of it
  bool aside;    ///< It is off the round's own tempo
} SrPiece;

/// How the tempo of a round jumped.
typedef struct {
  SrPiece pieces[2 * SR_MOST_TURNS + 1]; ///< In order
  size_t count;
  double own_s; ///< `more_s` of the round's own tempo; NAN if it has none
} SrCourse;

/**
   Find how the tempo of a round jumped.

   @param turns   Turns of its beat.
   @param sizes   Of each, as the model has it.
   @param count   How many, at most SR_MOST_TURNS.
   @param first   Where the round begins, in pulses.
   @param end     Where it ends, behind `first`.
   @param pulse_s Usual length of a pulse, s.
*/
SrCourse sr_course_find(const SrTurn* turns, const double* sizes, size_t count, double first,
                        double end, double pulse_s);
/// How much longer a pulse is at a place than in the round's own tempo, s; 0 if it has none.
double sr_course_aside(const SrCourse* course, double pulses);
/// Whether a place lies in a stretch aside.
bool sr_course_is_aside(const SrCourse* course, double pulses);

#endif // SR_JUDGE_COURSE_H
