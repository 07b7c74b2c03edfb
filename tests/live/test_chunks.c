// SPDX-License-Identifier: GPL-3.0-or-later

// The news are the same, to the last bit, however the samples are cut into chunks.

#include "extent.h"
#include "reported.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* abc_path;
static const char* exercises;
static const char* takes;

static SrPhrase*
read_phrase(const char* const path, const int tune)
{
  SrPhraseChoice choice = {0};
  choice.tune = tune;
  SrPhrase* phrase = NULL;
  SrError error = {0};
  if (sr_phrase_read_file(path, &choice, &phrase, &error) != SR_OK) {
    fail_msg("%s: %s", path, error.message);
  }
  return phrase;
}

/// Gives how many rounds were reported.
static size_t
compare_chunks(const SrPhrase* const phrase, const Scene* const scene)
{
  static const size_t chunks[] = {64, 1000, 65536};
  const SrLiveSettings settings = reported_settings(scene);
  Reported one = reported_of(phrase, &settings, scene, 1);
  for (size_t c = 0; c < sizeof(chunks) / sizeof(chunks[0]); ++c) {
    Reported other = reported_of(phrase, &settings, scene, chunks[c]);
    reported_assert_same(&one, &other);
    reported_free(&other);
  }
  assert_true(reported_count(&one, SR_NEWS_NOTE) > 0);
  for (size_t i = 1; i < one.count; ++i) {
    assert_true(one.news[i].at_s >= one.news[i - 1].at_s);
  }
  const size_t rounds = reported_count(&one, SR_NEWS_ROUND);
  reported_free(&one);
  return rounds;
}

/// At its own rate and at 48 kHz.
static void
compare_rates(const SrPhrase* const phrase, Scene* const scene, const size_t rounds)
{
  assert_int_equal(compare_chunks(phrase, scene), rounds);
  Scene other = scene_at_rate(scene, 48000.0);
  assert_int_equal(compare_chunks(phrase, &other), rounds);
  scene_free(&other);
}

static void
made_takes(void** const state)
{
  (void)state;
  const int count = SLOW ? 1 : 2;
  for (int i = 0; i < count; ++i) {
    SrPhrase* const phrase = read_phrase(abc_path, 1 + 3 * i);
    TakePlan plan = take_plan_default();
    plan.seed = 40 + (uint64_t)i;
    plan.bpm = 110.0;
    plan.rt60_s = 0.4;
    plan.direct_db = 10.0;
    plan.floor_db = -55.0;
    plan.reference_hz = 447.0;
    plan.jitter_ms = 12.0;
    plan.rounds = i ? 1 : 2;
    plan.pause_s = 0.8;
    plan.p_long = 0.1;
    plan.p_on_top = 0.1;
    plan.p_missed = 0.05;
    plan.p_wrong = 0.05;
    plan.p_air = 0.1;
    plan.air_least_db = -25.0;
    plan.air_most_db = -15.0;
    plan.air_most_s = 0.3;
    plan.false_start = i > 0;
    plan.hesitate = i > 0;
    plan.key_clicks = true;
    Take* const take = take_make(phrase, &plan);
    assert_non_null(take);
    Scene scene = scene_of_take(take);
    if (i > 0) {
      scene_lose(&scene, 6.0, 6.4);
    }
    compare_rates(phrase, &scene, plan.rounds);
    scene_free(&scene);
    take_del(take);
    sr_phrase_del(phrase);
  }
}

static void
long_shipped_takes(void** const state)
{
  (void)state;
  static const char* const names[][2] = {{"three-as", "demo"},
                                         {"twos", "twos"},
                                         {"first-cuts", "first-cuts"},
                                         {"first-sip", "first-sip"}};
  for (size_t i = 0; i < 4; ++i) {
    char path[4096];
    snprintf(path, sizeof(path), "%s/%s.abc", exercises, names[i][0]);
    SrPhrase* const phrase = read_phrase(path, 0);
    snprintf(path, sizeof(path), "%s/%s.flac", takes, names[i][1]);
    Scene scene = scene_read(path);
    // Of each, as many rounds as the truth beside it tells
    static const size_t rounds[] = {2, 1, 1, 1};
    compare_rates(phrase, &scene, rounds[i]);
    scene_free(&scene);
    sr_phrase_del(phrase);
  }
}

int
main(const int argc, char** const argv)
{
  if (argc < 4) {
    return 2;
  }
  abc_path = argv[1];
  exercises = argv[2];
  takes = argv[3];
  const struct CMUnitTest tests[] = {cmocka_unit_test(made_takes),
                                     cmocka_unit_test(long_shipped_takes)};
  sr_test_extent(argc, argv);
  return cmocka_run_group_tests(tests, NULL, NULL);
}
