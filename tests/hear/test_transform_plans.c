// SPDX-License-Identifier: GPL-3.0-or-later

// Transforms are planned on several threads at once.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "hear/transform_plans.h"

#include <aubio/aubio.h>

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <string.h>

#define TURNS 150

static atomic_int ready;

static void
wait_for_all(const int count)
{
  atomic_fetch_add(&ready, 1);
  while (atomic_load(&ready) < count) {
  }
}

/// Whether samples come back from their spectrum as they were.
static bool
comes_back(const size_t size)
{
  float* const samples = fftwf_alloc_real(size);
  fftwf_complex* const bins = fftwf_alloc_complex(size / 2 + 1);
  const fftwf_plan forward = sr_transform_plan(size, samples, bins);
  const fftwf_plan back = sr_transform_plan_back(size, bins, samples);
  bool same = forward && back;
  if (same) {
    for (size_t i = 0; i < size; ++i) {
      samples[i] = (float)(i % 7) - 3.0f;
    }
    fftwf_execute(forward);
    fftwf_execute(back);
    for (size_t i = 0; i < size; ++i) {
      same = same && fabsf(samples[i] / (float)size - ((float)(i % 7) - 3.0f)) < 1e-3f;
    }
  }
  fftwf_destroy_plan(forward);
  fftwf_destroy_plan(back);
  fftwf_free(samples);
  fftwf_free(bins);
  return same;
}

/// Ours; returns NULL if all was well.
static void*
plan(void* const argument)
{
  const size_t* const first = (const size_t*)argument;
  bool well = true;
  wait_for_all(3);
  for (size_t i = 0; i < TURNS; ++i) {
    well = well && comes_back(2 * (*first + 2 * i));
  }
  return well ? NULL : argument;
}

/// A library's.
static void*
plan_elsewhere(void* const argument)
{
  (void)argument;
  sr_transform_plans_share();
  wait_for_all(3);
  for (uint_t i = 0; i < TURNS; ++i) {
    aubio_pitch_t* const pitch = new_aubio_pitch("yinfast", 512, 256, 44100);
    del_aubio_pitch(pitch);
  }
  return NULL;
}

static void
threads_plan_at_once(void** const state)
{
  (void)state;
  static size_t firsts[] = {50, 51};
  pthread_t threads[3];
  for (size_t i = 0; i < 2; ++i) {
    assert_int_equal(pthread_create(&threads[i], NULL, plan, &firsts[i]), 0);
  }
  assert_int_equal(pthread_create(&threads[2], NULL, plan_elsewhere, NULL), 0);
  for (size_t i = 0; i < 3; ++i) {
    void* failed = NULL;
    assert_int_equal(pthread_join(threads[i], &failed), 0);
    assert_null(failed);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(threads_plan_at_once)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
