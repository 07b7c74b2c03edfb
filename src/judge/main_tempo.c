// SPDX-License-Identifier: GPL-3.0-or-later

#include "main_tempo.h"

#include "tuning.h"

#include <math.h>
#include <string.h>

/// Cut the round into pieces at each jump.
static void
cut_into_pieces(const SrTurn* const turns, const size_t count, SrCourse* const course)
{
  for (size_t t = 0; t < 2 * count; ++t) {
    const SrTurn* const turn = &turns[t / 2];
    const double place = t % 2 ? turn->to : turn->from;
    for (size_t p = course->count; turn->kind == SR_TURN_JUMP && p-- > 0;) {
      SrPiece* const piece = &course->pieces[p];
      if (place > piece->from && place < piece->to) {
        memmove(piece + 1, piece, (course->count - p) * sizeof(SrPiece));
        piece[0].to = place;
        piece[1].from = place;
        ++course->count;
        break;
      }
    }
  }
}

/// The tempo that holds longest, if for long enough; NAN otherwise.
static double
find_own(const SrCourse* const course, const double pulse_s)
{
  double most = LEAST_OWN_SHARE * (course->pieces[course->count - 1].to - course->pieces[0].from);
  double own_s = (double)NAN;
  for (size_t p = 0; p < course->count; ++p) {
    double length = 0.0;
    double sum = 0.0;
    for (size_t q = 0; q < course->count; ++q) {
      const SrPiece* const other = &course->pieces[q];
      const bool same =
          fabs(other->more_s - course->pieces[p].more_s) < COURSE_SAME_TEMPO * pulse_s;
      length += same ? other->to - other->from : 0.0;
      sum += same ? (other->to - other->from) * other->more_s : 0.0;
    }
    if (length >= most) {
      most = length;
      own_s = sum / length;
    }
  }
  return own_s;
}

SrCourse
sr_course_find(const SrTurn* const turns, const double* const sizes, const size_t count,
               const double first, const double end, const double pulse_s)
{
  SrCourse course = {.count = 1};
  course.pieces[0] = (SrPiece){.from = first, .to = end};
  cut_into_pieces(turns, count, &course);
  for (size_t p = 0; p < course.count; ++p) {
    SrPiece* const piece = &course.pieces[p];
    const double middle = 0.5 * (piece->from + piece->to);
    for (size_t t = 0; t < count; ++t) {
      const SrTurn* const turn = &turns[t];
      const bool there = turn->kind == SR_TURN_JUMP && middle >= turn->from && middle < turn->to;
      piece->more_s += there ? sizes[t] : 0.0;
    }
  }
  course.own_s = find_own(&course, pulse_s);
  for (size_t p = 0; p < course.count; ++p) {
    SrPiece* const piece = &course.pieces[p];
    piece->aside = fabs(piece->more_s - course.own_s) >= COURSE_SAME_TEMPO * pulse_s;
  }
  return course;
}

/// The piece that contains a place; NULL if none.
static const SrPiece*
piece_at(const SrCourse* const course, const double pulses)
{
  for (size_t p = 0; p < course->count; ++p) {
    const SrPiece* const piece = &course->pieces[p];
    if (pulses >= piece->from && pulses < piece->to) {
      return piece;
    }
  }
  return NULL;
}

double
sr_course_aside(const SrCourse* const course, const double pulses)
{
  const SrPiece* const piece = isfinite(course->own_s) ? piece_at(course, pulses) : NULL;
  return piece ? piece->more_s - course->own_s : 0.0;
}

bool
sr_course_is_aside(const SrCourse* const course, const double pulses)
{
  const SrPiece* const piece = piece_at(course, pulses);
  return piece && piece->aside;
}
