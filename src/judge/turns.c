// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file turns.c
   How much a column would explain follows from its part along the residual offsets and along the
   model's own directions (Frisch and Waugh 1933, Lovell 1963; from memory), so all pairs of places
   are tried in a few ms. What cannot be noticed counts as noise.
*/

#include "turns.h"

#include "../hot.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Columns that are projected at once: their sums need not wait for each other.
#define COLUMNS 4u

/// A place where the tempo may turn, and its ramp: the pulses since then.
typedef struct {
  double pulses;
  size_t step;  ///< Between the onset of this number and the next
  double along; ///< The ramp projected on the offsets
  double* own;  ///< The ramp projected on each direction of the model
} Knot;

typedef struct {
  const SrTurnSearch* search;
  double* basis; ///< Orthonormal: `rank` directions of `rows` each
  size_t rank;
  double* offsets; ///< Residual of the model
  double squares;
  Knot* knots;
  size_t knot_count;
  double* room;      ///< Storage of the knots' `own`
  double (*sums)[3]; ///< Suffix sums over the onsets: count, places, squared places
  double* column;
  double* columns; ///< COLUMNS of them, row by row
  size_t places;   ///< Of the turns in the model
  double badness;
  SrTurn best;
  bool found;
} Finder;

double
sr_turn_column(const SrTurn* const turn, const double pulses)
{
  const double since = fmax(0.0, fmin(pulses, turn->to) - turn->from);
  if (turn->kind == SR_TURN_WAIT) {
    return pulses >= turn->from - 1e-9 ? 1.0 : 0.0;
  }
  if (turn->kind == SR_TURN_STRAY) {
    return fabs(pulses - turn->from) < 1e-9 ? 1.0 : 0.0;
  }
  return turn->kind == SR_TURN_BEND ? since * since : since;
}

bool
sr_turn_is_of_tempo(const SrTurn* const turn)
{
  return turn->kind == SR_TURN_JUMP || turn->kind == SR_TURN_BEND;
}

size_t
sr_turn_places(const SrTurn* const turn)
{
  return isfinite(turn->to) ? 2 : 1;
}

double
sr_model_badness(const double squares, const size_t rows, const size_t columns, const size_t places,
                 const double noticeable_s)
{
  const size_t parameters = columns + places;
  if (rows <= parameters + 1) {
    return (double)INFINITY;
  }
  const double variance = squares / (double)(rows - parameters);
  // Variance of displacements spread evenly within the noticeable limit
  const double unnoticed = noticeable_s * noticeable_s / 3.0;
  const double by_schwarz = (double)parameters * log((double)rows);
  const double by_akaike =
      2.0 * (double)parameters * (double)rows / (double)(rows - parameters - 1);
  return (double)rows * log(variance + unnoticed) + fmax(by_schwarz, by_akaike);
}

static double
dot(const double* const a, const double* const b, const size_t count)
{
  double sum = 0.0;
  for (size_t i = 0; i < count; ++i) {
    sum += a[i] * b[i];
  }
  return sum;
}

/// Project the model's directions out of a vector.
static void
take_out(const Finder* const f, double* const vector)
{
  const size_t rows = f->search->rows;
  for (size_t k = 0; k < f->rank; ++k) {
    const double* const direction = f->basis + k * rows;
    const double along = dot(direction, vector, rows);
    for (size_t i = 0; i < rows; ++i) {
      vector[i] -= along * direction[i];
    }
  }
}

/// Gram-Schmidt; the residual of the onsets is the offsets.
static void
make_basis(Finder* const f)
{
  const SrTurnSearch* const s = f->search;
  for (size_t c = 0; c < s->columns; ++c) {
    double* const direction = f->basis + f->rank * s->rows;
    for (size_t i = 0; i < s->rows; ++i) {
      direction[i] = s->matrix[i * s->columns + c];
    }
    const double before = dot(direction, direction, s->rows);
    take_out(f, direction);
    take_out(f, direction); // again, against rounding
    const double square = dot(direction, direction, s->rows);
    if (square > LEAST_OWN * before) {
      for (size_t i = 0; i < s->rows; ++i) {
        direction[i] /= sqrt(square);
      }
      ++f->rank;
    }
  }
  memcpy(f->offsets, s->values, s->rows * sizeof(double));
  take_out(f, f->offsets);
  f->squares = dot(f->offsets, f->offsets, s->rows);
}

/// Whether a step is far enough from the existing turns.
static bool
may_turn_in(const SrTurnSearch* const s, const size_t step)
{
  bool may = step + 2 < s->rows;
  for (size_t t = 0; t < s->turn_count; ++t) {
    const double places[] = {s->turns[t].from, s->turns[t].to};
    for (size_t p = 0; p < 2; ++p) {
      size_t other = 0;
      while (other + 2 < s->rows && s->pulses[other + 1] <= places[p] - 1e-9) {
        ++other;
      }
      const size_t apart = step > other ? step - other : other - step;
      const bool far = !isfinite(places[p]) || apart >= TURN_STEPS;
      may = may && (far || !sr_turn_is_of_tempo(&s->turns[t]));
    }
  }
  return may;
}

static void
add_knot(Finder* const f, const size_t step, const double pulses)
{
  const size_t rows = f->search->rows;
  Knot* const knot = &f->knots[f->knot_count];
  *knot = (Knot){.pulses = pulses, .step = step, .own = f->room + f->knot_count * f->rank};
  // Up to the step it is zero
  const size_t first = step + 1;
  for (size_t i = first; i < rows; ++i) {
    f->column[i] = fmax(0.0, f->search->pulses[i] - pulses);
  }
  knot->along = dot(f->column + first, f->offsets + first, rows - first);
  for (size_t k = 0; k < f->rank; ++k) {
    knot->own[k] = dot(f->column + first, f->basis + k * rows + first, rows - first);
  }
  ++f->knot_count;
}

static size_t
parts_of(const SrTurnSearch* const s)
{
  return s->rows <= ONSETS_ALL ? STEP_PARTS : 1;
}

/// Places between the onsets count too, since some notes are long.
static void
find_knots(Finder* const f)
{
  const SrTurnSearch* const s = f->search;
  const size_t parts = parts_of(s);
  for (size_t i = 0; i + 1 < s->rows; ++i) {
    const double length = s->pulses[i + 1] - s->pulses[i];
    const bool may = length > 1e-9 && may_turn_in(s, i);
    for (size_t p = 1; may && p <= parts; ++p) {
      add_knot(f, i, s->pulses[i] + (double)p / (double)parts * length);
    }
  }
  f->sums[s->rows][0] = f->sums[s->rows][1] = f->sums[s->rows][2] = 0.0;
  for (size_t i = s->rows; i-- > 0;) {
    f->sums[i][0] = f->sums[i + 1][0] + 1.0;
    f->sums[i][1] = f->sums[i + 1][1] + s->pulses[i];
    f->sums[i][2] = f->sums[i + 1][2] + s->pulses[i] * s->pulses[i];
  }
}

/// The inner product of two ramps; `b` does not start before `a`.
static double
ramps(const Finder* const f, const Knot* const a, const Knot* const b)
{
  const double* const sums = f->sums[b->step + 1];
  return sums[2] - (a->pulses + b->pulses) * sums[1] + a->pulses * b->pulses * sums[0];
}

/// Keep a turn if it reduces the badness below the best so far. `along` is its column projected on
/// the offsets, `square` that of the part independent of the model.
static void
weigh(Finder* const f, const SrTurn* const turn, const double along, const double square)
{
  const SrTurnSearch* const s = f->search;
  if (!(square > LEAST_OWN)) {
    return;
  }
  const double size = along / square;
  const bool jumps = fabs(size) >= LEAST_JUMP * s->pulse_s && size > -s->pulse_s;
  const bool large = (turn->kind != SR_TURN_JUMP || jumps) &&
                     (turn->kind != SR_TURN_WAIT || fabs(size) >= LEAST_WAIT_S);
  const double squares = fmax(0.0, f->squares - along * size);
  const size_t places = f->places + sr_turn_places(turn);
  const double badness = sr_model_badness(squares, s->rows, f->rank + 1, places, s->noticeable_s);
  if (large && badness < f->badness) {
    f->badness = badness;
    f->best = *turn;
    f->found = true;
  }
}

/// Whether a tempo may last from a place to the end.
static bool
may_last(const SrTurnSearch* const s, const Knot* const knot)
{
  return knot->step + 1 >= TURN_STEPS && knot->step + 1 + TURN_STEPS <= s->rows;
}

/// Some turns of one kind that last to the end.
typedef struct {
  SrTurn turns[COLUMNS];
  double along[COLUMNS];
  double square[COLUMNS];
  size_t count;
} Lasting;

/// dot() of columns with a vector.
SR_PART void
dots(const double* const columns, const double* const vector, const size_t rows,
     double sums[COLUMNS])
{
  double sum[COLUMNS] = {0.0};
  for (size_t i = 0; i < rows; ++i) {
    for (size_t c = 0; c < COLUMNS; ++c) {
      sum[c] += vector[i] * columns[i * COLUMNS + c];
    }
  }
  memcpy(sums, sum, sizeof(sum));
}

/// Project columns on the offsets, and take the model's directions out of them.
SR_HOT static void
project(double* const columns, const double* const offsets, const double* const basis,
        const size_t rank, const size_t rows, double along[COLUMNS], double square[COLUMNS])
{
  dots(columns, offsets, rows, along);
  for (size_t k = 0; k < rank; ++k) {
    const double* const direction = basis + k * rows;
    double part[COLUMNS];
    dots(columns, direction, rows, part);
    for (size_t i = 0; i < rows; ++i) {
      for (size_t c = 0; c < COLUMNS; ++c) {
        columns[i * COLUMNS + c] -= part[c] * direction[i];
      }
    }
  }
  double sum[COLUMNS] = {0.0};
  for (size_t i = 0; i < rows; ++i) {
    for (size_t c = 0; c < COLUMNS; ++c) {
      sum[c] += columns[i * COLUMNS + c] * columns[i * COLUMNS + c];
    }
  }
  memcpy(square, sum, sizeof(sum));
}

static void
add_lasting(Lasting* const lasting, const SrTurnKind kind, const double from)
{
  lasting->turns[lasting->count++] = (SrTurn){kind, from, (double)INFINITY};
}

static void
project_lasting(const Finder* const f, Lasting* const lasting)
{
  const size_t rows = f->search->rows;
  for (size_t i = 0; i < rows && lasting->count > 0; ++i) {
    for (size_t c = 0; c < COLUMNS; ++c) {
      const bool is = c < lasting->count;
      f->columns[i * COLUMNS + c] =
          is ? sr_turn_column(&lasting->turns[c], f->search->pulses[i]) : 0.0;
    }
  }
  if (lasting->count > 0) {
    project(f->columns, f->offsets, f->basis, f->rank, rows, lasting->along, lasting->square);
  }
}

static void
weigh_one(Finder* const f, const Lasting* const lasting, const size_t index)
{
  weigh(f, &lasting->turns[index], lasting->along[index], lasting->square[index]);
}

static void
weigh_jumps(Finder* const f, const Knot* const from)
{
  const double square = ramps(f, from, from);
  const double own = dot(from->own, from->own, f->rank);
  const SrTurn jump = {SR_TURN_JUMP, from->pulses, (double)INFINITY};
  if (may_last(f->search, from)) {
    weigh(f, &jump, from->along, square - own);
  }
  for (const Knot* to = from + 1; to < f->knots + f->knot_count; ++to) {
    if (to->step < from->step + TURN_STEPS) {
      continue;
    }
    double left = square - 2.0 * ramps(f, from, to) + ramps(f, to, to);
    for (size_t k = 0; k < f->rank; ++k) {
      const double apart = from->own[k] - to->own[k];
      left -= apart * apart;
    }
    const SrTurn turn = {SR_TURN_JUMP, from->pulses, to->pulses};
    weigh(f, &turn, from->along - to->along, left);
  }
}

bool
sr_turn_find(const SrTurnSearch* const search, SrTurn* const best, bool* const found)
{
  const size_t rows = search->rows;
  const size_t knots = parts_of(search) * rows;
  Finder f = {.search = search};
  f.basis = (double*)malloc((search->columns + 1) * rows * sizeof(double));
  f.offsets = (double*)malloc(rows * sizeof(double));
  f.column = (double*)malloc(rows * sizeof(double));
  f.columns = (double*)malloc(COLUMNS * rows * sizeof(double));
  f.knots = (Knot*)malloc(knots * sizeof(Knot));
  f.room = (double*)malloc(knots * (search->columns + 1) * sizeof(double));
  f.sums = (double(*)[3])malloc((rows + 1) * sizeof(*f.sums));
  const bool enough = f.basis && f.offsets && f.column && f.columns && f.knots && f.room && f.sums;
  if (enough) {
    make_basis(&f);
    find_knots(&f);
    size_t strays = 0;
    for (size_t t = 0; t < search->turn_count; ++t) {
      f.places += sr_turn_places(&search->turns[t]);
      strays += search->turns[t].kind == SR_TURN_STRAY;
    }
    f.badness = sr_model_badness(f.squares, rows, f.rank, f.places, search->noticeable_s);
    for (size_t k = 0; k < f.knot_count; k += COLUMNS) {
      const size_t end = k + COLUMNS < f.knot_count ? k + COLUMNS : f.knot_count;
      Lasting bends = {.count = 0};
      for (size_t i = k; i < end; ++i) {
        if (may_last(search, &f.knots[i])) {
          add_lasting(&bends, SR_TURN_BEND, f.knots[i].pulses);
        }
      }
      project_lasting(&f, &bends);
      size_t bend = 0;
      for (size_t i = k; i < end; ++i) {
        if (may_last(search, &f.knots[i])) {
          weigh_one(&f, &bends, bend++);
        }
        weigh_jumps(&f, &f.knots[i]);
      }
    }
    for (size_t k = 0; k < rows; k += COLUMNS) {
      const size_t end = k + COLUMNS < rows ? k + COLUMNS : rows;
      Lasting waits = {.count = 0};
      Lasting more = {.count = 0};
      for (size_t i = k; i < end; ++i) {
        add_lasting(&waits, SR_TURN_WAIT, search->pulses[i]);
        if (strays < search->most_strays) {
          add_lasting(&more, SR_TURN_STRAY, search->pulses[i]);
        }
      }
      project_lasting(&f, &waits);
      project_lasting(&f, &more);
      for (size_t i = k; i < end; ++i) {
        if (i > 0) {
          weigh_one(&f, &waits, i - k);
        }
        if (i - k < more.count) {
          weigh_one(&f, &more, i - k);
        }
      }
    }
    *best = f.best;
    *found = f.found;
  }
  free(f.basis);
  free(f.offsets);
  free(f.column);
  free(f.columns);
  free(f.knots);
  free(f.room);
  free(f.sums);
  return enough;
}
