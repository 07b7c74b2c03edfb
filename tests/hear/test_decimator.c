// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_decimator.c
   What the header of the decimator promises: the analysis rate, what passes, what does not fold
   back, no delay, and the same samples whatever the chunks. Where FFmpeg's libraries are there,
   swresample is the outside check.
*/

#include "hear/decimator.h"

#include "../support/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#if SR_HAS_MEDIA
#include <libavutil/channel_layout.h>
#include <libavutil/opt.h>
#include <libswresample/swresample.h>
#endif

#define SECONDS 0.25
/// The header's figures.
#define PASS_HZ 6100.0
#define FLAT_DB 0.01
#define STOP_DB -65.0

static const double RATES_HZ[] = {16000.0, 22050.0, 32000.0, 44100.0, 48000.0, 96000.0, 192000.0};
#define RATES (sizeof(RATES_HZ) / sizeof(RATES_HZ[0]))

/// Decimate in chunks of `chunk`; returns what came out, to be freed.
static float*
decimate(const double rate_hz, const float* const input, const size_t count, const size_t chunk,
         size_t* const given)
{
  SrDecimator* const decimator = sr_decimator_new(rate_hz);
  assert_non_null(decimator);
  const size_t most = sr_decimator_most(decimator, count) + sr_decimator_most(decimator, 0);
  float* const output = (float*)calloc(most, sizeof(float));
  assert_non_null(output);
  *given = 0;
  for (size_t done = 0; done < count; done += chunk) {
    const size_t step = count - done < chunk ? count - done : chunk;
    const size_t got = sr_decimator_push(decimator, input + done, step, output + *given);
    assert_true(got <= sr_decimator_most(decimator, step));
    *given += got;
  }
  const size_t last = sr_decimator_finish(decimator, output + *given);
  assert_true(last <= sr_decimator_most(decimator, 0));
  *given += last;
  assert_int_equal(*given,
                   (count + sr_decimator_factor(decimator) - 1) / sr_decimator_factor(decimator));
  sr_decimator_del(decimator);
  return output;
}

static float*
sine(const double rate_hz, const double frequency_hz, size_t* const count)
{
  *count = (size_t)(SECONDS * rate_hz);
  float* const samples = (float*)calloc(*count, sizeof(float));
  assert_non_null(samples);
  for (size_t i = 0; i < *count; ++i) {
    samples[i] = (float)sin(2.0 * M_PI * frequency_hz * (double)i / rate_hz);
  }
  return samples;
}

/// Worst level of what comes out against what goes in, dB, and largest difference from the same
/// sine at the output's rate, both away from the ends.
typedef struct {
  double gain_db;
  double difference;
} Passed;

static Passed
pass(const double rate_hz, const double frequency_hz)
{
  SrDecimator* const decimator = sr_decimator_new(rate_hz);
  assert_non_null(decimator);
  const double output_rate_hz = sr_decimator_rate_hz(decimator);
  sr_decimator_del(decimator);
  size_t count = 0;
  size_t given = 0;
  float* const input = sine(rate_hz, frequency_hz, &count);
  float* const output = decimate(rate_hz, input, count, count, &given);
  double squares = 0.0;
  double weights = 0.0;
  Passed passed = {0.0, 0.0};
  const size_t edge = given / 8;
  for (size_t i = edge; i < given - edge; ++i) {
    const double u = (double)(i - edge) / (double)(given - 2 * edge);
    const double weight = 1.0 - cos(2.0 * M_PI * u);
    const double value = (double)output[i];
    squares += weight * value * value;
    weights += weight;
    const double due = sin(2.0 * M_PI * frequency_hz * (double)i / output_rate_hz);
    passed.difference = fmax(passed.difference, fabs(value - due));
  }
  passed.gain_db = 10.0 * log10(2.0 * squares / weights + 1e-20);
  free(input);
  free(output);
  return passed;
}

static void
test_the_rate_is_one_of_analysis(void** const state)
{
  (void)state;
  for (size_t i = 0; i < RATES; ++i) {
    SrDecimator* const decimator = sr_decimator_new(RATES_HZ[i]);
    assert_non_null(decimator);
    const double factor = (double)sr_decimator_factor(decimator);
    const double output_rate_hz = sr_decimator_rate_hz(decimator);
    assert_true(fabs(output_rate_hz * factor - RATES_HZ[i]) < 1e-6);
    assert_true(output_rate_hz >= 14700.0 - 1e-6);
    assert_true(output_rate_hz < 2.0 * 14700.0);
    sr_decimator_del(decimator);
  }
}

/// A sine comes out as itself: its level flat, and sample m where input sample m * factor was.
static void
test_what_passes_is_flat_and_not_delayed(void** const state)
{
  (void)state;
  static const double frequencies_hz[] = {150.0, 440.0, 1000.0, 2500.0, 4000.0, 5500.0, PASS_HZ};
  for (size_t i = 0; i < RATES; ++i) {
    for (size_t k = 0; k < sizeof(frequencies_hz) / sizeof(frequencies_hz[0]); ++k) {
      const Passed passed = pass(RATES_HZ[i], frequencies_hz[k]);
      if (!(fabs(passed.gain_db) < FLAT_DB && passed.difference < 0.001)) {
        fail_msg("%.0f Hz at %.0f Hz: %.3f dB, off by %.5f", frequencies_hz[k], RATES_HZ[i],
                 passed.gain_db, passed.difference);
      }
    }
  }
}

/// What would come to lie under PASS_HZ when samples are left out.
static void
test_what_would_fold_back_is_gone(void** const state)
{
  (void)state;
  double worst_db = -INFINITY;
  for (size_t i = 0; i < RATES; ++i) {
    SrDecimator* const decimator = sr_decimator_new(RATES_HZ[i]);
    assert_non_null(decimator);
    const double output_rate_hz = sr_decimator_rate_hz(decimator);
    const size_t factor = sr_decimator_factor(decimator);
    sr_decimator_del(decimator);
    for (size_t image = 1; 2 * image <= factor; ++image) {
      for (double at_hz = -PASS_HZ; at_hz <= PASS_HZ; at_hz += PASS_HZ / 10.5) {
        const double frequency_hz = (double)image * output_rate_hz + at_hz;
        if (frequency_hz < 0.5 * RATES_HZ[i]) {
          worst_db = fmax(worst_db, pass(RATES_HZ[i], frequency_hz).gain_db);
        }
      }
    }
  }
  print_message("most that folds back: %.1f dB\n", worst_db);
  assert_true(worst_db < STOP_DB);
}

static void
test_chunks_of_any_size_give_the_same_samples(void** const state)
{
  (void)state;
  static const size_t chunks[] = {1, 7, 64, 1000, 4096, 9999};
  Random random = {1};
  const size_t count = 20011;
  float* const input = (float*)calloc(count, sizeof(float));
  assert_non_null(input);
  for (size_t i = 0; i < count; ++i) {
    input[i] = (float)(0.2 * random_normal(&random));
  }
  for (size_t i = 0; i < RATES; ++i) {
    size_t given = 0;
    float* const whole = decimate(RATES_HZ[i], input, count, count, &given);
    for (size_t k = 0; k < sizeof(chunks) / sizeof(chunks[0]); ++k) {
      size_t parts_given = 0;
      float* const parts = decimate(RATES_HZ[i], input, count, chunks[k], &parts_given);
      assert_int_equal(parts_given, given);
      assert_memory_equal(parts, whole, given * sizeof(float));
      free(parts);
    }
    free(whole);
  }
  free(input);
}

#if SR_HAS_MEDIA

/// Noise in the pass band: many sines of random phase.
static float*
band_noise(const double rate_hz, size_t* const count)
{
  Random random = {2};
  *count = (size_t)(SECONDS * rate_hz);
  float* const samples = (float*)calloc(*count, sizeof(float));
  assert_non_null(samples);
  for (double hz = 150.0; hz < PASS_HZ; hz += 97.0) {
    const double phase = random_between(&random, 0.0, 2.0 * M_PI);
    for (size_t i = 0; i < *count; ++i) {
      samples[i] += (float)(0.05 * sin(2.0 * M_PI * hz * (double)i / rate_hz + phase));
    }
  }
  return samples;
}

/// The same by swresample with a long filter (FFmpeg, resample2.c).
static float*
swresample(const int rate_hz, const int output_rate_hz, const float* const input,
           const size_t count, size_t* const given)
{
  AVChannelLayout mono = AV_CHANNEL_LAYOUT_MONO;
  SwrContext* swr = NULL;
  assert_int_equal(swr_alloc_set_opts2(&swr, &mono, AV_SAMPLE_FMT_FLT, output_rate_hz, &mono,
                                       AV_SAMPLE_FMT_FLT, rate_hz, 0, NULL),
                   0);
  av_opt_set_int(swr, "filter_size", 256, 0);
  av_opt_set_double(swr, "cutoff", 0.9, 0);
  assert_int_equal(swr_init(swr), 0);
  const size_t room = count;
  float* const output = (float*)calloc(room, sizeof(float));
  assert_non_null(output);
  const uint8_t* in = (const uint8_t*)input;
  uint8_t* out = (uint8_t*)output;
  const int first = swr_convert(swr, &out, (int)room, &in, (int)count);
  assert_true(first > 0);
  out = (uint8_t*)(output + first);
  const int rest = swr_convert(swr, &out, (int)room - first, NULL, 0);
  assert_true(rest >= 0);
  *given = (size_t)(first + rest);
  swr_free(&swr);
  return output;
}

/// Two ways to the same samples: the difference is as small as both filters' ripple.
static void
test_swresample_gives_the_same(void** const state)
{
  (void)state;
  static const int rates_hz[] = {32000, 44100, 48000, 96000};
  for (size_t i = 0; i < sizeof(rates_hz) / sizeof(rates_hz[0]); ++i) {
    SrDecimator* const decimator = sr_decimator_new(rates_hz[i]);
    assert_non_null(decimator);
    const int output_rate_hz = (int)lround(sr_decimator_rate_hz(decimator));
    sr_decimator_del(decimator);
    size_t count = 0;
    size_t own_count = 0;
    size_t other_count = 0;
    float* const input = band_noise(rates_hz[i], &count);
    float* const own = decimate(rates_hz[i], input, count, count, &own_count);
    float* const other = swresample(rates_hz[i], output_rate_hz, input, count, &other_count);
    const size_t both = own_count < other_count ? own_count : other_count;
    assert_true(both > own_count * 3 / 4);
    double squares = 0.0;
    double differences = 0.0;
    for (size_t n = both / 4; n < both * 3 / 4; ++n) {
      const double difference = (double)own[n] - (double)other[n];
      squares += (double)(own[n] * own[n]);
      differences += difference * difference;
    }
    const double apart_db = 10.0 * log10(differences / squares + 1e-20);
    print_message("%d Hz to %d Hz, against swresample: %.1f dB\n", rates_hz[i], output_rate_hz,
                  apart_db);
    assert_true(apart_db < -65.0);
    free(input);
    free(own);
    free(other);
  }
}

#endif

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_the_rate_is_one_of_analysis),
    cmocka_unit_test(test_what_passes_is_flat_and_not_delayed),
    cmocka_unit_test(test_what_would_fold_back_is_gone),
    cmocka_unit_test(test_chunks_of_any_size_give_the_same_samples),
#if SR_HAS_MEDIA
    cmocka_unit_test(test_swresample_gives_the_same),
#endif
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
