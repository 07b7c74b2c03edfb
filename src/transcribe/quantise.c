// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file quantise.c
   Each length of a quaver is tried, and the likeliest kept; then the lilt,
   and how far notes are from the grid, are learnt from it, and the notes laid once more.
*/

#include "quantise.h"

#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void
sr_grid_clear(SrGrid* const grid)
{
  free(grid->notes);
  memset(grid, 0, sizeof(*grid));
}

/// A trial of one length of a quaver.
typedef struct {
  SrGridWish wish;
  double nats;
  double usual; ///< The part of `nats` for how usual the length is
} Trial;

/// Most trials.
#define MOST_TRIALS 64u

static SrGridWish
wish_of(const SrGridKnown* const known, const SrPulseKind kind, const double quaver_s)
{
  const long round = sr_steps_round(kind);
  const long upbeat = isnan(known->upbeat_quavers) ? 0 : lround(known->upbeat_quavers * SR_PLACES);
  return (SrGridWish){.kind = kind,
                      .begin = isnan(known->upbeat_quavers)
                                   ? SR_ANY_PLACE
                                   : (int)((round - upbeat % round) % round),
                      .quaver_s = quaver_s,
                      .quaver_share = QUAVER_SHARE,
                      .onset_s = ONSET_S,
                      .click_s = (double)NAN,
                      .click_period_s = known->click_period_s,
                      .click_quavers = 1.0};
}

/// The trials of a kind of pulse.
static size_t
list_trials(const SrGridKnown* const known, const SrPulseKind kind, Trial* const trials)
{
  size_t count = 0;
  const double pulse = kind == SR_PULSE_OF_THREE ? 3.0 : 2.0;
  if (isfinite(known->click_s)) {
    // A click on each pulse, each second one, or each quaver
    const double quavers[] = {pulse, 2.0 * pulse, 1.0, 4.0 * pulse};
    for (size_t i = 0; i < sizeof(quavers) / sizeof(quavers[0]); ++i) {
      const double quaver_s = known->click_period_s / quavers[i];
      if (quaver_s > SHORTEST_QUAVER_S && quaver_s < LONGEST_QUAVER_S) {
        Trial* const trial = &trials[count++];
        trial->wish = wish_of(known, kind, quaver_s);
        trial->wish.quaver_share = CLICKED_SHARE;
        trial->wish.click_s = known->click_s;
        trial->wish.click_quavers = quavers[i];
      }
    }
    return count;
  }
  if (isfinite(known->pulse_s)) {
    const double quavers = known->pulse_quavers ? known->pulse_quavers : pulse;
    trials[0].wish = wish_of(known, kind, known->pulse_s / quavers);
    return 1;
  }
  const double lengths = log(LONGEST_QUAVER_S / SHORTEST_QUAVER_S) / log(QUAVER_STEP);
  while (count < MOST_TRIALS && (double)count < lengths) {
    const double quaver_s = SHORTEST_QUAVER_S * pow(QUAVER_STEP, (double)count);
    trials[count++].wish = wish_of(known, kind, quaver_s);
  }
  return count;
}

/// Learn the lilt, and how far notes are from the grid.
static void
learn(const SrPlayedNotes* const played, const SrGridNote* const notes, SrGridWish* const wish)
{
  double sums[4] = {0.0};
  size_t counts[4] = {0};
  double squares = 0.0;
  size_t count = 0;
  const int round = sr_steps_round(wish->kind);
  for (size_t i = 0; i < played->count; ++i) {
    if (notes[i].is_grace) {
      continue;
    }
    if (!notes[i].breaks) {
      squares += notes[i].late_s * notes[i].late_s - notes[i].variance;
      ++count;
    }
    const long within = notes[i].place % round;
    if (within % SR_PLACES == 0 && !notes[i].breaks) {
      sums[within / SR_PLACES] += notes[i].late_s / notes[i].quaver_s;
      ++counts[within / SR_PLACES];
    }
  }
  const double on_s = sqrt(fmax(0.0, squares) / (double)(count ? count : 1));
  wish->onset_s = fmin(MOST_ONSET_S, fmax(LEAST_ONSET_S, on_s));
  for (int k = 1; k < 4; ++k) {
    if (counts[k] >= LEAST_NOTES && counts[0] >= LEAST_NOTES) {
      const double later = sums[k] / (double)counts[k] - sums[0] / (double)counts[0];
      wish->lilt[k] = fmin(MOST_LILT, fmax(-MOST_LILT, wish->lilt[k] + later));
    }
  }
}

/// The length of the middle quaver.
static double
usual_quaver_s(const SrPlayedNotes* const played, const SrGridNote* const notes)
{
  double sum = 0.0;
  for (size_t i = 0; i < played->count; ++i) {
    sum += log(notes[i].quaver_s);
  }
  return exp(sum / (double)played->count);
}

/// Try all; gives the best, or -1 without memory.
static int
choose_trial(const SrPlayedNotes* const played, Trial* const trials, const size_t count,
             SrGridNote* const notes)
{
  size_t best = 0;
  for (size_t i = 0; i < count; ++i) {
    Trial* const trial = &trials[i];
    if (sr_beam_search(played, &trial->wish, notes, &trial->nats) != SR_OK) {
      return -1;
    }
    const double off = log(trial->wish.quaver_s / USUAL_QUAVER_S) / QUAVER_SPREAD;
    trial->usual = -0.5 * off * off;
    trial->nats += trial->usual;
    best = trial->nats > trials[best].nats ? i : best;
  }
  return (int)best;
}

/// How sure the length of a quaver is, and which is the next likely one.
static void
tell_sure(const Trial* const trials, const size_t count, const size_t best, const double quaver_s,
          SrGrid* const grid)
{
  size_t other = count;
  double nats = (double)-INFINITY;
  grid->other_quaver_s = (double)NAN;
  for (size_t i = 0; i < count; ++i) {
    if (fabs(log(trials[i].wish.quaver_s / quaver_s)) > OTHER_QUAVER && trials[i].nats > nats) {
      nats = trials[i].nats;
      other = i;
      grid->other_quaver_s = trials[i].wish.quaver_s;
    }
  }
  const Trial* const kept = &trials[best];
  const double usual = other < count ? trials[other].usual - kept->usual : 0.0;
  const double behind = TEMPO_EVIDENCE * (nats - kept->nats - usual) + usual;
  grid->sure_quaver = 1.0 / (1.0 + exp(fmin(50.0, behind)));
}

SrStatus
sr_grid_make(const SrPlayedNotes* const played, const SrGridKnown* const known,
             const SrPulseKind kind, SrGrid* const grid)
{
  memset(grid, 0, sizeof(*grid));
  Trial trials[MOST_TRIALS] = {{.nats = 0.0}};
  const size_t count = list_trials(known, kind, trials);
  grid->notes = (SrGridNote*)calloc(played->count + 1, sizeof(SrGridNote));
  const int best = grid->notes ? choose_trial(played, trials, count, grid->notes) : -1;
  if (best < 0) {
    sr_grid_clear(grid);
    return SR_NO_MEMORY;
  }
  SrGridWish wish = trials[best].wish;
  double nats = 0.0;
  SrStatus status = sr_beam_search(played, &wish, grid->notes, &nats);
  for (int i = 0; i < LEARNT_TIMES && status == SR_OK; ++i) {
    learn(played, grid->notes, &wish);
    status = sr_beam_search(played, &wish, grid->notes, &nats);
  }
  if (status != SR_OK) {
    sr_grid_clear(grid);
    return status;
  }
  tell_sure(trials, count, (size_t)best, wish.quaver_s, grid);
  grid->wish = wish;
  grid->kind = wish.kind;
  grid->onset_s = wish.onset_s;
  grid->quaver_s = played->count ? usual_quaver_s(played, grid->notes) : wish.quaver_s;
  grid->nats = trials[best].nats;
  return SR_OK;
}
