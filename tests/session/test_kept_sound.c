// SPDX-License-Identifier: GPL-3.0-or-later

// The sound of rounds in memory: what is kept, what is dropped, and copying from other threads.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "session/kept_sound.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdlib.h>

#define RATE_HZ 16000.0
#define PERIOD 1000

/// A ramp that says where it is.
static float
sample_at(const uint64_t at)
{
  return (float)(at % PERIOD) / PERIOD - 0.5f;
}

/// Add so many seconds; `needed_s` before the end is needed.
static void
add(SrKeptSound* const sound, uint64_t* const at, const double seconds, const double needed_s)
{
  float samples[777];
  const uint64_t end = *at + (uint64_t)(seconds * RATE_HZ);
  while (*at < end) {
    const size_t count = end - *at < 777 ? (size_t)(end - *at) : 777;
    for (size_t i = 0; i < count; ++i) {
      samples[i] = sample_at(*at + i);
    }
    sr_kept_sound_add(sound, samples, count, (double)*at / RATE_HZ - needed_s);
    *at += count;
  }
}

/// Copy a stretch and check every sample; its status.
static SrStatus
check(SrKeptSound* const sound, const double from_s, const double to_s, const double end_s)
{
  float* samples = NULL;
  size_t count = 1;
  SrError error = {0};
  const SrStatus status = sr_kept_sound_copy(sound, from_s, to_s, &samples, &count, &error);
  assert_int_equal(status, error.status);
  if (status != SR_OK) {
    assert_null(samples);
    assert_int_equal(count, 0);
    return status;
  }
  const uint64_t first = (uint64_t)llround(from_s * RATE_HZ);
  assert_int_equal(count, (uint64_t)llround(fmin(to_s, end_s) * RATE_HZ) - first);
  for (size_t i = 0; i < count; ++i) {
    // Half a step of 16 bits
    assert_true(fabsf(samples[i] - sample_at(first + i)) < 0.51f / 32767.0f);
  }
  free(samples);
  return status;
}

static void
rounds_stay(void** const state)
{
  (void)state;
  SrKeptSound* const sound = sr_kept_sound_new(RATE_HZ, 100000000);
  uint64_t at = 0;
  assert_int_equal(check(sound, 0.0, 1.0, 0.0), SR_NOT_FOUND);
  add(sound, &at, 20.0, 10.0);
  sr_kept_sound_round(sound, 12.2, 17.3);
  add(sound, &at, 40.0, 10.0);
  sr_kept_sound_round(sound, 53.0, 58.0);
  add(sound, &at, 60.3, 10.0);
  const double end_s = 120.3;
  // The rounds and 1.5 s around them, and the last 10 s
  assert_int_equal(check(sound, 10.7, 18.8, end_s), SR_OK);
  assert_int_equal(check(sound, 51.5, 59.5, end_s), SR_OK);
  assert_int_equal(check(sound, 111.0, 500.0, end_s), SR_OK);
  assert_int_equal(check(sound, 5.0, 6.0, end_s), SR_NOT_FOUND);
  assert_int_equal(check(sound, 30.0, 31.0, end_s), SR_NOT_FOUND);
  assert_int_equal(check(sound, 15.0, 55.0, end_s), SR_NOT_FOUND);
  assert_int_equal(check(sound, 90.0, 91.0, end_s), SR_NOT_FOUND);
  assert_int_equal(check(sound, end_s, 500.0, end_s), SR_NOT_FOUND);
  assert_int_equal(check(sound, -1.0, 1.0, end_s), SR_BAD_ARGUMENT);
  assert_int_equal(check(sound, 15.0, 15.0, end_s), SR_BAD_ARGUMENT);
  assert_int_equal(check(sound, (double)NAN, 15.0, end_s), SR_BAD_ARGUMENT);
  assert_int_equal(check(sound, 15.0, (double)NAN, end_s), SR_BAD_ARGUMENT);
  float* samples = NULL;
  size_t count = 0;
  double start_s = 0.0;
  assert_int_equal(sr_kept_sound_copy_round(sound, 1, &samples, &count, &start_s, NULL), SR_OK);
  assert_true(fabs(start_s - 11.9) < 1e-9);
  assert_int_equal(count, (size_t)lround((17.3 + 0.7 - 11.9) * RATE_HZ));
  assert_true(fabsf(samples[0] - sample_at((uint64_t)llround(11.9 * RATE_HZ))) < 1e-4f);
  free(samples);
  for (unsigned round = 0; round <= 3; round += 3) {
    assert_int_equal(sr_kept_sound_copy_round(sound, round, &samples, &count, NULL, NULL),
                     SR_NOT_FOUND);
    assert_null(samples);
  }
  sr_kept_sound_del(sound);
}

/// Beyond the bound the oldest rounds go first.
static void
oldest_go_first(void** const state)
{
  (void)state;
  // 30 s
  SrKeptSound* const sound = sr_kept_sound_new(RATE_HZ, (size_t)(30.0 * RATE_HZ) * 2);
  uint64_t at = 0;
  for (unsigned round = 1; round <= 5; ++round) {
    add(sound, &at, 10.0, 10.0);
    const double end_s = (double)at / RATE_HZ;
    sr_kept_sound_round(sound, end_s - 9.0, end_s - 1.0);
    for (unsigned r = 1; r <= round; ++r) {
      const double start_s = 10.0 * (r - 1) + 1.0;
      assert_int_equal(check(sound, start_s, start_s + 8.0, end_s),
                       r + 3 > round ? SR_OK : SR_NOT_FOUND);
    }
  }
  // One that is longer than all there is
  add(sound, &at, 50.0, 100.0);
  assert_int_equal(check(sound, 71.0, 100.0, 100.0), SR_OK);
  assert_int_equal(check(sound, 69.0, 100.0, 100.0), SR_NOT_FOUND);
  sr_kept_sound_del(sound);
}

/// Too loud and lost samples.
static void
what_is_no_sample(void** const state)
{
  (void)state;
  SrKeptSound* const sound = sr_kept_sound_new(RATE_HZ, 100000);
  const float samples[] = {2.0f, -3.0f, (float)NAN, (float)INFINITY, -1.0f};
  static const float wanted[] = {1.0f, -1.0f, 0.0f, 0.0f, -1.0f};
  sr_kept_sound_add(sound, samples, 5, 0.0);
  float* copied = NULL;
  size_t count = 0;
  assert_int_equal(sr_kept_sound_copy(sound, 0.0, 1.0, &copied, &count, NULL), SR_OK);
  assert_int_equal(count, 5);
  for (size_t i = 0; i < 5; ++i) {
    assert_true(fabsf(copied[i] - wanted[i]) < 1e-6f);
  }
  free(copied);
  sr_kept_sound_del(sound);
}

typedef struct {
  SrKeptSound* sound;
  atomic_bool over;
} Shared;

static void*
copy_all_the_time(void* const context)
{
  Shared* const shared = (Shared*)context;
  size_t copies = 0;
  while (!atomic_load(&shared->over)) {
    float* samples = NULL;
    size_t count = 0;
    double start_s = 0.0;
    for (unsigned round = 1; round <= 40; ++round) {
      if (sr_kept_sound_copy_round(shared->sound, round, &samples, &count, &start_s, NULL) ==
          SR_OK) {
        const uint64_t first = (uint64_t)llround(start_s * RATE_HZ);
        for (size_t i = 0; i < count; i += 97) {
          if (fabsf(samples[i] - sample_at(first + i)) > 1e-4f) {
            abort();
          }
        }
        ++copies;
        free(samples);
      }
    }
  }
  return (void*)(uintptr_t)copies;
}

/// While one thread adds, two copy what is there.
static void
from_other_threads(void** const state)
{
  (void)state;
  Shared shared = {.sound = sr_kept_sound_new(RATE_HZ, (size_t)(40.0 * RATE_HZ) * 2)};
  atomic_init(&shared.over, false);
  pthread_t threads[2];
  for (size_t i = 0; i < 2; ++i) {
    assert_int_equal(pthread_create(&threads[i], NULL, copy_all_the_time, &shared), 0);
  }
  uint64_t at = 0;
  for (unsigned round = 1; round <= 40; ++round) {
    add(shared.sound, &at, 6.0, 10.0);
    const double end_s = (double)at / RATE_HZ;
    sr_kept_sound_round(shared.sound, end_s - 4.0, end_s - 1.0);
  }
  size_t copies = 0;
  atomic_store(&shared.over, true);
  for (size_t i = 0; i < 2; ++i) {
    void* copied = NULL;
    pthread_join(threads[i], &copied);
    copies += (size_t)(uintptr_t)copied;
  }
  print_message("%zu rounds copied meanwhile\n", copies);
  sr_kept_sound_del(shared.sound);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rounds_stay),
      cmocka_unit_test(oldest_go_first),
      cmocka_unit_test(what_is_no_sample),
      cmocka_unit_test(from_other_threads),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
