// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file beat_turns.c
   Turns of the tempo, and which reading explains a round best.
*/

#include "beat.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Find the turn that explains most of the residual, and add it. False if out of memory.
static bool
find_turn(SrBeatFit* const f, bool* const found)
{
  double* const matrix = (double*)malloc(f->count * (SR_BEAT_COLUMNS + 2) * sizeof(double));
  SrTurn turn;
  *found = false;
  if (!matrix) {
    return false;
  }
  double* const values = matrix + f->count * SR_BEAT_COLUMNS;
  double* const pulses = values + f->count;
  const SrTurnSearch search = {.rows = sr_beat_matrix(f, matrix, values, pulses),
                               .columns = SR_BEAT_COLUMNS,
                               .matrix = matrix,
                               .values = values,
                               .pulses = pulses,
                               .pulse_s = f->onsets[f->count / 2].usual_s,
                               .noticeable_s = sr_beat_noticeable_s(f),
                               .turns = f->turns,
                               .turn_count = f->turn_count,
                               .most_strays = sr_beat_most_out(f)};
  bool enough = sr_turn_find(&search, &turn, found);
  if (enough && *found) {
    f->turns[f->turn_count++] = turn;
    enough = sr_beat_solve(f);
  }
  free(matrix);
  return enough;
}

static void
remove_turn(SrBeatFit* const f, const size_t turn)
{
  --f->turn_count;
  memmove(&f->turns[turn], &f->turns[turn + 1], (f->turn_count - turn) * sizeof(SrTurn));
}

/// Search again for each turn with all the others in place. False if out of memory.
static bool
look_again(SrBeatFit* const f)
{
  bool enough = true;
  bool moved = f->turn_count > 1;
  for (int look = 0; enough && moved && look < MOST_LOOKS; ++look) {
    moved = false;
    for (size_t t = f->turn_count; enough && t > 0 && f->turn_count > 0; --t) {
      const SrTurn was = f->turns[0];
      bool found = false;
      remove_turn(f, 0);
      enough = sr_beat_solve(f) && find_turn(f, &found);
      const SrTurn* const last = found ? &f->turns[f->turn_count - 1] : NULL;
      moved = moved || !last || last->kind != was.kind || fabs(last->from - was.from) > 1e-9 ||
              sr_turn_places(last) != sr_turn_places(&was) ||
              (isfinite(was.to) && fabs(last->to - was.to) > 1e-9);
    }
  }
  return enough;
}

/// Add the turns that explain the round better. False if out of memory.
static bool
find_turns(SrBeatFit* const f)
{
  bool enough = true;
  bool found = true;
  while (enough && found && f->turn_count < SR_MOST_TURNS) {
    const size_t before = f->turn_count;
    enough = find_turn(f, &found) && (!found || look_again(f));
    found = found && f->turn_count > before;
  }
  // Strays are left out like other outliers
  for (size_t t = f->turn_count; t-- > 0;) {
    if (f->turns[t].kind == SR_TURN_STRAY) {
      f->onsets[sr_beat_onset_near(f, f->turns[t].from)].out = true;
      remove_turn(f, t);
    }
  }
  enough = enough && sr_beat_solve(f);
  for (size_t i = 0; enough && i < f->count; ++i) {
    if (!(sr_beat_slope(f, f->onsets[i].pulses) > 0.0)) {
      f->turn_count = 0; // time does not run backwards
      enough = sr_beat_solve(f);
    }
  }
  return enough;
}

bool
sr_beat_fit(SrBeatFit* const f, const bool turning, double* const scratch)
{
  f->turn_count = 0;
  for (size_t i = 0; i < f->count; ++i) {
    f->onsets[i].out = false;
  }
  return sr_beat_solve(f) &&
         (turning ? find_turns(f) : !sr_beat_leave_out(f, scratch) || sr_beat_solve(f));
}

/// Badness of fit: each wait, each turn and each onset left out counts its place as well as its
/// size.
static double
badness(const SrBeatFit* const f)
{
  size_t places = f->count > 0 ? f->onsets[f->count - 1].waits : 0;
  for (size_t t = 0; t < f->turn_count; ++t) {
    places += sr_turn_places(&f->turns[t]);
  }
  double squares = 0.0;
  size_t out = 0;
  for (size_t i = 0; i < f->count; ++i) {
    const double off = f->onsets[i].onset_s - sr_beat_predicted(f, &f->onsets[i]);
    squares += f->onsets[i].out ? 0.0 : off * off;
    out += f->onsets[i].out;
  }
  return sr_model_badness(squares, f->count, f->determined + out, places + out,
                          sr_beat_noticeable_s(f));
}

static bool
has_left_out(const SrBeatFit* const f, const size_t from)
{
  for (size_t i = from; i < f->slip_count; ++i) {
    if (f->slips[i].kind == SR_SLIP_LEFT_OUT) {
      return true;
    }
  }
  return false;
}

/// A fit with its onsets, to go back to.
typedef struct {
  SrBeatFit fit;
  SrBeatOnset* onsets;
} Kept;

static void
keep(const SrBeatFit* const f, Kept* const kept)
{
  kept->fit = *f;
  memcpy(kept->onsets, f->onsets, f->count * sizeof(SrBeatOnset));
}

static void
go_back(const Kept* const kept, SrBeatFit* const f)
{
  SrBeatOnset* const onsets = f->onsets;
  *f = kept->fit;
  f->onsets = onsets;
  memcpy(onsets, kept->onsets, f->count * sizeof(SrBeatOnset));
}

bool
sr_beat_try_turns(SrBeatFit* const f, const size_t slips, double* const scratch)
{
  Kept best = {.onsets = (SrBeatOnset*)malloc(f->count * sizeof(SrBeatOnset))};
  if (!best.onsets) {
    return false;
  }
  keep(f, &best);
  double least = badness(f);
  bool enough = true;
  const bool waited = f->wait_count > 0;
  const int readings = f->wait_count > 0 && !has_left_out(f, slips) ? 4 : 2;
  for (int reading = 0; enough && reading < readings; ++reading) {
    f->bends = reading % 2 == 0;
    for (size_t i = 0; reading == 2 && i < f->count; ++i) {
      f->onsets[i].waits = 0;
      f->onsets[i].moved_s = 0.0;
      f->wait_count = 0;
    }
    enough = sr_beat_fit(f, true, scratch);
    const double here = badness(f);
    if (enough && f->turn_count > 0 && here < least) {
      least = here;
      keep(f, &best);
    }
  }
  go_back(&best, f);
  if (waited && f->wait_count == 0) {
    f->slip_count = slips;
  }
  free(best.onsets);
  return enough;
}
