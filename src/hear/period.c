// SPDX-License-Identifier: GPL-3.0-or-later

#include "period.h"

#include "transform_plans.h"
#include "tuning.h"

#include <aubio/aubio.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct SrPeriodImpl {
  uint_t size;
  aubio_pitch_t* pitch;
  fvec_t* input;
  fvec_t* output;
};

SrPeriod*
sr_period_new(const double rate_hz, const size_t count)
{
  SrPeriod* const p = (SrPeriod*)calloc(1, sizeof(SrPeriod));
  if (!p) {
    return NULL;
  }
  size_t size = 256;
  while (2 * size <= count) {
    size *= 2;
  }
  p->size = (uint_t)size;
  sr_transform_plans_share();
  p->pitch = new_aubio_pitch("yinfast", p->size, p->size, (uint_t)lround(rate_hz));
  p->input = new_fvec(p->size);
  p->output = new_fvec(1);
  if (!p->pitch || !p->input || !p->output) {
    sr_period_del(p);
    return NULL;
  }
  aubio_pitch_set_unit(p->pitch, "Hz");
  // The default treats sounds under -50 dB as silence
  aubio_pitch_set_silence(p->pitch, PERIOD_SILENCE_DB);
  return p;
}

void
sr_period_del(SrPeriod* const p)
{
  if (p) {
    if (p->pitch) {
      del_aubio_pitch(p->pitch);
    }
    if (p->input) {
      del_fvec(p->input);
    }
    if (p->output) {
      del_fvec(p->output);
    }
    free(p);
  }
}

double
sr_period_hz(SrPeriod* const p, const float* const samples)
{
  memcpy(p->input->data, samples, p->size * sizeof(float));
  aubio_pitch_do(p->pitch, p->input, p->output);
  const double hz = (double)fvec_get_sample(p->output, 0);
  return isfinite(hz) ? hz : 0.0;
}
