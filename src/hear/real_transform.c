// SPDX-License-Identifier: GPL-3.0-or-later

#include "real_transform.h"

#include "simd.h"
#include "transform_plans.h"

#include <assert.h>
#include <math.h>

/// Bins in a vector.
#define BINS (SR_VECTOR_SIZE / 2u)

struct SrRealTransformImpl {
  size_t half;            ///< Half the number of samples
  fftwf_complex* samples; ///< Two in each
  fftwf_complex* folded;  ///< Their spectrum, as if the second of each were imaginary
  float* cosines;         ///< Of each bin's turn in one sample, twice
  float* sines;           ///< The same, the second one negative
  fftwf_plan forward;
  fftwf_plan back;
};

void
sr_real_transform_del(SrRealTransform* const t)
{
  if (t) {
    if (t->forward) {
      fftwf_destroy_plan(t->forward);
    }
    if (t->back) {
      fftwf_destroy_plan(t->back);
    }
    fftwf_free(t->samples);
    fftwf_free(t->folded);
    free(t->cosines);
    free(t->sines);
    free(t);
  }
}

static void
set_turn(SrRealTransform* const t, const size_t k, const float cosine, const float sine)
{
  t->cosines[2 * k] = t->cosines[2 * k + 1] = cosine;
  t->sines[2 * k] = sine;
  t->sines[2 * k + 1] = -sine;
}

SrRealTransform*
sr_real_transform_new(const size_t size)
{
  SrRealTransform* const t = (SrRealTransform*)calloc(1, sizeof(SrRealTransform));
  if (!t) {
    return NULL;
  }
  assert(size % (2 * (size_t)BINS) == 0);
  t->half = size / 2;
  t->samples = fftwf_alloc_complex(t->half);
  t->folded = fftwf_alloc_complex(t->half + 1);
  t->cosines = sr_vector_new(2 * (t->half + 1));
  t->sines = sr_vector_new(2 * (t->half + 1));
  if (t->samples && t->folded) {
    t->forward = sr_transform_plan_complex(t->half, t->samples, t->folded, FFTW_FORWARD);
    t->back = sr_transform_plan_complex(t->half, t->folded, t->samples, FFTW_BACKWARD);
  }
  if (!t->forward || !t->back || !t->cosines || !t->sines) {
    sr_real_transform_del(t);
    return NULL;
  }
  memset(t->samples, 0, t->half * sizeof(fftwf_complex));
  for (size_t k = 0; 2 * k <= t->half; ++k) {
    const double turn = M_PI * (double)k / (double)t->half;
    set_turn(t, k, (float)cos(turn), (float)sin(turn));
    set_turn(t, t->half - k, -(float)cos(turn), (float)sin(turn));
  }
  return t;
}

float*
sr_real_transform_samples(const SrRealTransform* const t)
{
  return (float*)t->samples;
}

// As macros, since functions that return vectors differ between processors

/// Bins in the opposite order.
#define MIRRORED(v) SR_VECTOR_PERMUTED(v, 6, 7, 4, 5, 2, 3, 0, 1)
/// Real and imaginary parts exchanged.
#define EXCHANGED(v) SR_VECTOR_PERMUTED(v, 1, 0, 3, 2, 5, 4, 7, 6)
/// Imaginary parts with the opposite sign.
#define CONJUGATE(v) ((SrVector){1.0f, -1.0f, 1.0f, -1.0f, 1.0f, -1.0f, 1.0f, -1.0f} * (v))

/// The bins `low` to before `end` of the spectrum, from the folded one.
SR_HOT static void
unfold(const float* const folded, const size_t half, const float* const cosines,
       const float* const sines, const size_t low, const size_t end, float* const bins)
{
  for (size_t next = low; next < end; next += BINS) {
    // The last ones may be done twice
    const size_t k = next + BINS <= end ? next : end - BINS;
    SrVector a;
    SrVector b;
    SrVector cosine;
    SrVector sine;
    memcpy(&a, folded + 2 * k, sizeof(a));
    memcpy(&b, folded + 2 * (half + 1 - BINS - k), sizeof(b));
    memcpy(&cosine, cosines + 2 * k, sizeof(cosine));
    memcpy(&sine, sines + 2 * k, sizeof(sine));
    b = MIRRORED(b);
    // Spectra of the even samples and of the odd ones
    const SrVector even = SR_VECTOR_OF(0.5f) * (a + CONJUGATE(b));
    const SrVector odd = SR_VECTOR_OF(0.5f) * (EXCHANGED(b) + CONJUGATE(EXCHANGED(a)));
    const SrVector sum = even + (cosine * odd + sine * EXCHANGED(odd));
    memcpy(bins + 2 * (k - low), &sum, sizeof(sum));
  }
}

void
sr_real_transform_do(const SrRealTransform* const t, const size_t low, const size_t count,
                     fftwf_complex* const bins)
{
  assert(count >= BINS);
  fftwf_execute(t->forward);
  t->folded[t->half][0] = t->folded[0][0];
  t->folded[t->half][1] = t->folded[0][1];
  unfold((const float*)t->folded, t->half, t->cosines, t->sines, low, low + count, (float*)bins);
}

/// The folded spectrum.
SR_HOT static void
fold(const float* const bins, const size_t half, const float* const cosines,
     const float* const sines, float* const folded)
{
  for (size_t k = 0; k < half; k += BINS) {
    SrVector a;
    SrVector b;
    SrVector cosine;
    SrVector sine;
    memcpy(&a, bins + 2 * k, sizeof(a));
    memcpy(&b, bins + 2 * (half + 1 - BINS - k), sizeof(b));
    memcpy(&cosine, cosines + 2 * k, sizeof(cosine));
    memcpy(&sine, sines + 2 * k, sizeof(sine));
    b = MIRRORED(b);
    const SrVector even = a + CONJUGATE(b);
    const SrVector turned = a - CONJUGATE(b);
    // Its imaginary part first
    const SrVector odd = turned * sine + EXCHANGED(turned) * cosine;
    const SrVector sum = even - CONJUGATE(odd);
    memcpy(folded + 2 * k, &sum, sizeof(sum));
  }
}

void
sr_real_transform_back(const SrRealTransform* const t, fftwf_complex* const bins)
{
  bins[0][1] = 0.0f;
  bins[t->half][1] = 0.0f;
  fold((const float*)bins, t->half, t->cosines, t->sines, (float*)t->folded);
  fftwf_execute(t->back);
}
