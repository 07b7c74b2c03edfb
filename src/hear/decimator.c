// SPDX-License-Identifier: GPL-3.0-or-later

#include "decimator.h"

#include "simd.h"
#include "tuning.h"

#include <math.h>
#include <stdint.h>

/// Outputs computed together, so that their sums do not wait for one another.
#define DECIMATOR_TOGETHER 4u

struct SrDecimatorImpl {
  double rate_hz; ///< Of the output
  size_t factor;
  size_t tap_count; ///< Padded to whole vectors with zeros
  size_t delay;     ///< Input samples from the first tap to the centre
  float* taps;
  float* buffer; ///< BLOCK + tap_count input samples
  size_t fill;   ///< Samples in the buffer
  size_t next;   ///< Position in the buffer of the next output's first tap
  uint64_t pushed;
  uint64_t given;
};

/// Modified Bessel function of the first kind, order 0 (its power series; Abramowitz and Stegun
/// 9.6.12).
static double
bessel_i0(const double x)
{
  double sum = 1.0;
  double term = 1.0;
  for (int k = 1; k < 60; ++k) {
    term *= (x / (2.0 * k)) * (x / (2.0 * k));
    sum += term;
  }
  return sum;
}

/// Windowed sinc with Kaiser's window and his formulas for its length and shape.
static void
design_filter(SrDecimator* const d, const double input_rate_hz, const size_t length)
{
  const double stop_hz = d->rate_hz - PASS_HZ;
  const double cutoff = 0.5 * (PASS_HZ + stop_hz) / input_rate_hz;
  const double beta = 0.1102 * (STOP_DB - 8.7);
  const double centre = 0.5 * (double)(length - 1);
  double sum = 0.0;
  for (size_t n = 0; n < length; ++n) {
    const double t = (double)n - centre;
    const double sinc = fabs(t) < 1e-9 ? 2.0 * cutoff : sin(2.0 * M_PI * cutoff * t) / (M_PI * t);
    const double r = t / (centre + 1.0);
    const double value = sinc * bessel_i0(beta * sqrt(1.0 - r * r));
    d->taps[n] = (float)value;
    sum += value;
  }
  for (size_t n = 0; n < length; ++n) {
    d->taps[n] = (float)((double)d->taps[n] / sum);
  }
}

SrDecimator*
sr_decimator_new(const double rate_hz)
{
  SrDecimator* const d = (SrDecimator*)calloc(1, sizeof(SrDecimator));
  if (!d) {
    return NULL;
  }
  const double whole = floor(rate_hz / LOWEST_ANALYSIS_RATE_HZ + 1e-9);
  d->factor = whole < 1.0 ? 1u : (size_t)whole;
  d->rate_hz = rate_hz / (double)d->factor;

  size_t length = 1;
  if (d->factor > 1) {
    const double width = 2.0 * M_PI * (d->rate_hz - 2.0 * PASS_HZ) / rate_hz;
    length = (size_t)ceil((STOP_DB - 8.0) / (2.285 * width)) | 1u;
  }
  d->tap_count = sr_vector_padded(length);
  d->delay = (length - 1) / 2;
  d->taps = sr_vector_new(d->tap_count);
  d->buffer = sr_vector_new(BLOCK + d->tap_count);
  if (!d->taps || !d->buffer) {
    sr_decimator_del(d);
    return NULL;
  }
  if (d->factor > 1) {
    design_filter(d, rate_hz, length);
  } else {
    d->taps[0] = 1.0f;
  }
  d->fill = d->delay; // silence before the first sample
  return d;
}

void
sr_decimator_del(SrDecimator* const d)
{
  if (d) {
    free(d->taps);
    free(d->buffer);
    free(d);
  }
}

size_t
sr_decimator_factor(const SrDecimator* const d)
{
  return d->factor;
}

double
sr_decimator_rate_hz(const SrDecimator* const d)
{
  return d->rate_hz;
}

size_t
sr_decimator_most(const SrDecimator* const d, const size_t count)
{
  return (count + d->tap_count) / d->factor + 2u;
}

/// `count` outputs, a constant after inlining.
SR_PART void
filter_at(const SrDecimator* const d, const float* const from, const size_t count,
          float* const output)
{
  SrVector sum[DECIMATOR_TOGETHER] = {{0}};
  for (size_t n = 0; n < d->tap_count; n += SR_VECTOR_SIZE) {
    SrVector w;
    memcpy(&w, d->taps + n, sizeof(w));
    for (size_t i = 0; i < count; ++i) {
      SrVector x;
      memcpy(&x, from + i * d->factor + n, sizeof(x));
      sum[i] += x * w;
    }
  }
  for (size_t i = 0; i < count; ++i) {
    output[i] = sr_vector_sum(&sum[i]);
  }
}

SR_HOT static size_t
give(SrDecimator* const d, float* const output)
{
  size_t count = 0;
  if (d->factor == 1) {
    while (d->next < d->fill) {
      output[count++] = d->buffer[d->next++];
    }
  } else {
    while (d->next + (DECIMATOR_TOGETHER - 1) * d->factor + d->tap_count <= d->fill) {
      filter_at(d, d->buffer + d->next, DECIMATOR_TOGETHER, output + count);
      d->next += DECIMATOR_TOGETHER * d->factor;
      count += DECIMATOR_TOGETHER;
    }
    while (d->next + d->tap_count <= d->fill) {
      filter_at(d, d->buffer + d->next, 1, output + count++);
      d->next += d->factor;
    }
  }
  const size_t used = d->next < d->fill ? d->next : d->fill;
  memmove(d->buffer, d->buffer + used, (d->fill - used) * sizeof(float));
  d->fill -= used;
  d->next -= used;
  d->given += count;
  return count;
}

size_t
sr_decimator_push(SrDecimator* const d, const float* const input, const size_t count,
                  float* const output)
{
  size_t done = 0;
  size_t given = 0;
  while (done < count) {
    const size_t room = BLOCK + d->tap_count - d->fill;
    const size_t step = count - done < room ? count - done : room;
    memcpy(d->buffer + d->fill, input + done, step * sizeof(float));
    d->fill += step;
    done += step;
    given += give(d, output + given);
  }
  d->pushed += count;
  return given;
}

size_t
sr_decimator_finish(SrDecimator* const d, float* const output)
{
  const uint64_t wanted = (d->pushed + d->factor - 1) / d->factor;
  size_t given = 0;
  while (d->given < wanted) {
    // tap_count is less than the buffer's spare room once give() has run
    memset(d->buffer + d->fill, 0, d->tap_count * sizeof(float));
    d->fill += d->tap_count;
    given += give(d, output + given);
  }
  const uint64_t over = d->given - wanted;
  d->given = wanted;
  return given > over ? given - (size_t)over : 0;
}
