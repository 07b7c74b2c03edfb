// SPDX-License-Identifier: GPL-3.0-or-later

#include "peer.h"

#include "score.h"

#include <aubio/aubio.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WINDOW 1024u
#define STEP 256u

static const char* const METHODS[PEER_METHODS] = {"specflux", "default", "energy",
                                                  "hfc",      "complex", "kl"};

const char*
peer_name(const size_t method)
{
  return METHODS[method];
}

/// Mark the nearest unmatched detection within tolerance of a time; false if there is none.
static bool
take_nearest(const double* const found, bool* const used, const size_t count, const double at_s)
{
  size_t best = count;
  for (size_t i = 0; i < count; ++i) {
    if (!used[i] && fabs(found[i] - at_s) <= TOLERANCE_S &&
        (best == count || fabs(found[i] - at_s) < fabs(found[best] - at_s))) {
      best = i;
    }
  }
  if (best == count) {
    return false;
  }
  used[best] = true;
  return true;
}

static void
score(PeerFigures* const figures, const Take* const take, const double* const found,
      bool* const used, const size_t count)
{
  for (size_t r = 0; r < take->round_count; ++r) {
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const note = &take->rounds[r].notes[i];
      if (isfinite(note->onset_s)) {
        ++figures->onsets;
        figures->matched += take_nearest(found, used, count, note->onset_s);
      }
    }
  }
  for (size_t r = 0; r < take->round_count; ++r) {
    const TruthRound* const round = &take->rounds[r];
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const note = &round->notes[i];
      if (isfinite(note->respeak_s)) {
        take_nearest(found, used, count, note->respeak_s);
      }
    }
    for (size_t i = 0; i < take->insertion_count; ++i) {
      take_nearest(found, used, count, take->extra_s[i]);
    }
    for (size_t i = 0; i < count; ++i) {
      const bool inside = found[i] > round->start_s - TOLERANCE_S && found[i] < round->end_s - 0.05;
      figures->false_onsets += inside && !used[i];
    }
  }
}

void
peer_add(PeerFigures* const figures, const size_t method, const Take* const take)
{
  aubio_onset_t* const onset =
      new_aubio_onset(METHODS[method], WINDOW, STEP, (uint_t)take->rate_hz);
  fvec_t* const input = new_fvec(STEP);
  fvec_t* const output = new_fvec(1);
  double* const found = (double*)calloc(take->count / STEP + 1, sizeof(double));
  bool* const used = (bool*)calloc(take->count / STEP + 1, sizeof(bool));
  size_t count = 0;
  for (size_t at = 0; at + STEP <= take->count; at += STEP) {
    memcpy(input->data, take->samples + at, STEP * sizeof(float));
    aubio_onset_do(onset, input, output);
    if (fvec_get_sample(output, 0) > 0.0f) {
      found[count++] = (double)aubio_onset_get_last_s(onset);
    }
  }
  score(figures, take, found, used, count);
  del_aubio_onset(onset);
  del_fvec(input);
  del_fvec(output);
  free(found);
  free(used);
}

double
peer_f(const PeerFigures* const figures)
{
  const double heard = (double)(figures->matched + figures->false_onsets);
  const double precision = heard > 0.0 ? (double)figures->matched / heard : 0.0;
  const double recall = figures->onsets ? (double)figures->matched / (double)figures->onsets : 0.0;
  return precision + recall > 0.0 ? 2.0 * precision * recall / (precision + recall) : 0.0;
}
