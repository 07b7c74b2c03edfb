// SPDX-License-Identifier: GPL-3.0-or-later

#include "transform_plans.h"
#include "tuning.h"

#include <steadyreed/hear.h>
#include <steadyreed/pitch.h>

#include <aubio/aubio.h>

#include <assert.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

struct SrPitchTrackImpl {
  double rate_hz;
  uint_t window;
  uint_t hop;
  uint_t fill;
  uint64_t taken; ///< Samples of whole hops
  aubio_pitch_t* pitch;
  fvec_t* input;
  fvec_t* output;
  float* squares; ///< Mean squares of the last PITCH_STEPS hops
  bool ready;
  SrPitchPoint point;
};

SrStatus
sr_pitch_track_new(const double rate_hz, SrPitchTrack** const track, SrError* const error)
{
  *track = NULL;
  if (!(rate_hz >= SR_LOWEST_RATE_HZ && rate_hz <= SR_HIGHEST_RATE_HZ)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The sample rate is %.0f Hz; it must be between %.0f and %.0f Hz.", rate_hz,
                        SR_LOWEST_RATE_HZ, SR_HIGHEST_RATE_HZ);
  }
  SrPitchTrack* const t = (SrPitchTrack*)calloc(1, sizeof(SrPitchTrack));
  if (t) {
    t->rate_hz = rate_hz;
    t->window = 1024;
    while ((double)t->window < PITCH_WINDOW_S * rate_hz) {
      t->window *= 2;
    }
    t->hop = t->window / PITCH_STEPS;
    sr_transform_plans_share();
    t->pitch = new_aubio_pitch("yinfast", t->window, t->hop, (uint_t)lround(rate_hz));
    t->input = new_fvec(t->hop);
    t->output = new_fvec(1);
    t->squares = (float*)calloc(PITCH_STEPS, sizeof(float));
  }
  if (!t || !t->pitch || !t->input || !t->output || !t->squares) {
    sr_pitch_track_del(t);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to track the pitch.");
  }
  aubio_pitch_set_unit(t->pitch, "Hz");
  aubio_pitch_set_silence(t->pitch, PITCH_SILENCE_DB);
  *track = t;
  return SR_OK;
}

void
sr_pitch_track_del(SrPitchTrack* const t)
{
  if (t) {
    if (t->pitch) {
      del_aubio_pitch(t->pitch);
    }
    if (t->input) {
      del_fvec(t->input);
    }
    if (t->output) {
      del_fvec(t->output);
    }
    free(t->squares);
    free(t);
  }
}

static void
make_point(SrPitchTrack* const t)
{
  assert(t->hop > 0);
  float square = 0.0f;
  for (uint_t i = 0; i < t->hop; ++i) {
    square += t->input->data[i] * t->input->data[i];
  }
  t->squares[(t->taken / t->hop) % PITCH_STEPS] = square / (float)t->hop;
  t->taken += t->hop;
  aubio_pitch_do(t->pitch, t->input, t->output);

  float mean = 0.0f;
  for (size_t i = 0; i < PITCH_STEPS; ++i) {
    mean += t->squares[i] / (float)PITCH_STEPS;
  }
  const double confidence = (double)aubio_pitch_get_confidence(t->pitch);
  const double frequency = (double)fvec_get_sample(t->output, 0);
  const double level = 10.0 * log10((double)mean + 1e-20);
  const bool sounds = level > (double)PITCH_SILENCE_DB && confidence >= LEAST_CONFIDENCE;
  t->point.at_s = ((double)t->taken - 0.5 * (double)t->window) / t->rate_hz;
  t->point.frequency_hz = sounds && isfinite(frequency) ? frequency : 0.0;
  t->point.confidence = isfinite(confidence) ? fmin(fmax(confidence, 0.0), 1.0) : 0.0;
  t->point.level_db = level;
  t->ready = true;
  t->fill = 0;
}

size_t
sr_pitch_track_push(SrPitchTrack* const t, const float* const samples, const size_t count)
{
  size_t done = 0;
  while (done < count && !t->ready) {
    const float x = samples[done++];
    t->input->data[t->fill++] = isfinite(x) ? x : 0.0f;
    if (t->fill == t->hop) {
      make_point(t);
    }
  }
  return done;
}

bool
sr_pitch_track_pull(SrPitchTrack* const t, SrPitchPoint* const point)
{
  if (!t->ready) {
    return false;
  }
  *point = t->point;
  t->ready = false;
  return true;
}
