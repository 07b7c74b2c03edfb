// SPDX-License-Identifier: GPL-3.0-or-later

// Clicks are found, followed and taken out; and nothing is done where there are none.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "clicks.h"
#include "extent.h"
#include "random.h"
#include "reed_source.h"
#include "room.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE SOURCE_RATE_HZ
#define CLICKS 24u

static SrClickRemover*
make(const SrClickSetting* const setting)
{
  SrClickRemover* remover = NULL;
  SrError error = {0};
  if (sr_click_remover_new(setting, &remover, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  return remover;
}

static void
push(SrClickRemover* const remover, float* const samples, const size_t count, const size_t chunk)
{
  for (size_t at = 0; at < count; at += chunk) {
    sr_click_remover_do(remover, samples + at, count - at < chunk ? count - at : chunk);
  }
}

static double
power(const float* const samples, const size_t from, const size_t count)
{
  double sum = 0.0;
  for (size_t i = from; i < from + count; ++i) {
    sum += (double)(samples[i] * samples[i]);
  }
  return sum;
}

/// Notes of one reed after another, RMS 0.1, from `start_s` on, each of `length_s`.
static void
add_reeds(float* const samples, const size_t count, const double start_s, const double length_s,
          Random* const random)
{
  static const int melody[] = {69, 71, 74, 69, 66, 67, 71, 78, 62, 64, 69, 76};
  ReedSource* const source = reed_source_new(REEDS_MADE, 3, 12.0);
  float* const reeds = (float*)calloc(count, sizeof(float));
  double at_s = start_s;
  for (size_t i = 0; at_s + length_s < (double)count / RATE; ++i) {
    const int midi = melody[i % 12];
    reed_source_add(source, reeds, count, midi, 440.0 * exp2((midi - 69) / 12.0), at_s,
                    at_s + length_s, 0.01, 0.1, NULL);
    at_s += length_s;
  }
  reed_source_del(source);
  room_apply(reeds, count, RATE, 0.3, 8.0, random);
  for (size_t i = 0; i < count; ++i) {
    samples[i] += reeds[i];
  }
  free(reeds);
}

/// A recording with clicks in it, and what it would be without.
typedef struct {
  SrClickSetting setting;
  float* without;
  float* alone;
  float* samples;
  size_t count;
} Recording;

static Recording
record(const double period_s, const ClickWay* const way, const double reeds_from_s,
       const double floor_db)
{
  Recording r = {.setting = setting_make(RATE, period_s * RATE, 4, 4, 0.4 * RATE)};
  r.count = (size_t)(RATE * (1.5 + period_s * CLICKS));
  r.without = (float*)calloc(r.count, sizeof(float));
  r.alone = (float*)calloc(r.count, sizeof(float));
  r.samples = (float*)calloc(r.count, sizeof(float));
  Random random = {way->seed + 40u};
  room_noise(r.without, r.count, RATE, floor_db, &random);
  if (reeds_from_s >= 0.0) {
    add_reeds(r.without, r.count, reeds_from_s, 0.31, &random);
  }
  memcpy(r.samples, r.without, r.count * sizeof(float));
  clicks_add(&r.setting, way, r.samples, r.count, r.alone);
  return r;
}

static void
recording_free(Recording* const r)
{
  setting_free(&r->setting);
  free(r->without);
  free(r->alone);
  free(r->samples);
}

/// What is left of click `k` against what it was, in its first `span_s`, dB.
static double
left_db(const Recording* const r, const ClickWay* const way, const unsigned k, const double span_s)
{
  const size_t from =
      (size_t)(r->setting.began + way->delay + k * r->setting.period * (1.0 + way->drift));
  const size_t count = (size_t)(span_s * r->setting.rate_hz);
  double left = 0.0;
  for (size_t i = from; i < from + count; ++i) {
    const double d = (double)(r->samples[i] - r->without[i]);
    left += d * d;
  }
  return 10.0 * log10(left / power(r->alone, from, count));
}

/// The mean of that in the first 30 ms of the clicks from `first` on, and the worst of them.
static double
mean_left_db(const Recording* const r, const ClickWay* const way, const unsigned first,
             double* const worst_db)
{
  double sum_db = 0.0;
  *worst_db = -100.0;
  for (unsigned k = first; k < CLICKS - 1; ++k) {
    const double db = left_db(r, way, k, 0.03);
    sum_db += db;
    *worst_db = fmax(*worst_db, db);
  }
  return sum_db / (CLICKS - 1 - first);
}

/// Against reeds of RMS 0.1 whose peak counts as 0.14.
static double
level_of(const double db)
{
  return 0.14 * pow(10.0, db / 20.0);
}

/// With a count-in behind which reeds play, the second click at the latest tells the arrival, and
/// from the third on clicks are gone.
static void
gone_after_the_count_in(void** const state)
{
  (void)state;
  static const double levels_db[] = {6.0, 0.0, -10.0, -20.0};
  // In the first 30 ms, on the mean in dB: what is reached; aim 25
  static const double limits_db[] = {-25.0, -25.0, -25.0, -25.0};
  for (size_t l = 0; l < 4; ++l) {
    for (size_t room = 0; room < 3; ++room) {
      const ClickWay way = {.delay = 0.031 * RATE + 0.3 + 9000.0 * (double)room,
                            .level = level_of(levels_db[l]),
                            .rt60_s = 0.2 * (double)room,
                            .direct_db = 14.0 - 20.0 * 0.2 * (double)room,
                            .seed = 3 * l + room};
      Recording r = record(0.6, &way, 0.4 + 4 * 0.6 + way.delay / RATE, -65.0);
      SrClickRemover* const remover = make(&r.setting);
      const size_t second =
          (size_t)(r.setting.began + r.setting.period + SR_MOST_ROUND_TRIP_S * RATE + 0.1 * RATE);
      push(remover, r.samples, second, 480);
      assert_true(sr_click_remover_heard(remover).heard);
      push(remover, r.samples + second, r.count - second, 480);
      double worst_db;
      const double mean_db = mean_left_db(&r, &way, 2, &worst_db);
      double tail_db = 0.0;
      for (unsigned k = 2; k < CLICKS - 1; ++k) {
        tail_db += left_db(&r, &way, k, 0.3) / (CLICKS - 3);
      }
      const SrClickHeard heard = sr_click_remover_heard(remover);
      printf("click at %5.1f dB, room %.1f s: left %6.1f dB in 30 ms, worst %6.1f, %6.1f in 0.3 s; "
             "arrives %.2f late, spread %.3f, told left %.1f dB\n",
             levels_db[l], way.rt60_s, mean_db, worst_db, tail_db, heard.round_trip - way.delay,
             heard.spread, heard.left_db);
      assert_true(mean_db < limits_db[l]);
      assert_true(fabs(heard.round_trip - way.delay) < 0.0005 * RATE);
      assert_true(heard.arrivals >= CLICKS - 2);
      assert_true(heard.spread < 1.0);
      const double reported = pow(10.0, heard.level_db / 20.0);
      assert_true(reported > 0.7 * way.level && reported < 1.4 * way.level);
      sr_click_remover_del(remover);
      recording_free(&r);
    }
  }
}

/// Listening begins while the first click arrives, or a little before or behind that.
static void
begun_in_a_click(void** const state)
{
  (void)state;
  static const double arrivals_s[] = {-0.02, -0.004, 0.0, 0.003, 0.0075, 0.0085, 0.02};
  for (size_t a = 0; a < sizeof(arrivals_s) / sizeof(arrivals_s[0]); ++a) {
    const ClickWay way = {.delay = 0.031 * RATE + 0.3,
                          .level = level_of(-6.0),
                          .rt60_s = 0.3,
                          .direct_db = 8.0,
                          .seed = 90 + a};
    Recording r = record(0.6, &way, 0.4 + 4 * 0.6 + way.delay / RATE, -65.0);
    const size_t cut = (size_t)(r.setting.began + way.delay - arrivals_s[a] * RATE);
    SrClickSetting setting = r.setting;
    setting.began -= (double)cut;
    SrClickRemover* const remover = make(&setting);
    push(remover, r.samples + cut, r.count - cut, 480);
    double worst_db;
    const double mean_db = mean_left_db(&r, &way, 3, &worst_db);
    printf("first click arrives at %5.1f ms: left %6.1f dB in 30 ms, worst %6.1f\n",
           1e3 * arrivals_s[a], mean_db, worst_db);
    assert_true(sr_click_remover_heard(remover).heard);
    assert_true(mean_db < -25.0);
    sr_click_remover_del(remover);
    recording_free(&r);
  }
}

/// Reeds play from the start, and from 6 dB over to 30 dB under them clicks are found.
static void
long_found_while_reeds_play(void** const state)
{
  (void)state;
  static const double levels_db[] = {6.0, 0.0, -10.0, -20.0, -30.0};
  for (size_t l = 0; l < 5; ++l) {
    for (size_t turn = 0; turn < 4; ++turn) {
      const ClickWay way = {.delay = (0.02 + 0.15 * (double)turn) * RATE + 0.7,
                            .level = level_of(levels_db[l]),
                            .rt60_s = 0.4,
                            .direct_db = 5.0,
                            .seed = 50 + 5 * l + turn};
      Recording r = record(0.47 + 0.1 * (double)turn, &way, 0.05, -60.0);
      SrClickRemover* const remover = make(&r.setting);
      unsigned clicks = 0;
      for (size_t at = 0; at + 441 < r.count; at += 441) {
        sr_click_remover_do(remover, r.samples + at, 441);
        if (!sr_click_remover_heard(remover).heard) {
          clicks = (unsigned)(((double)at - r.setting.began) / r.setting.period) + 1;
        }
      }
      const SrClickHeard heard = sr_click_remover_heard(remover);
      assert_true(heard.heard);
      double mean_db = 0.0;
      const double last_half = CLICKS - 1 - 12;
      for (unsigned k = 12; k < CLICKS - 1; ++k) {
        mean_db += left_db(&r, &way, k, 0.03) / last_half;
      }
      printf("click at %5.1f dB amid reeds, %.0f ms late: known within %.3f ms after %u clicks, "
             "left %.1f dB\n",
             levels_db[l], 1e3 * way.delay / RATE, 1e3 * fabs(heard.round_trip - way.delay) / RATE,
             clicks, mean_db);
      assert_true(fabs(heard.round_trip - way.delay) < 0.0005 * RATE);
      assert_true(mean_db < (levels_db[l] > -25.0 ? -2.0 : 0.5));
      sr_click_remover_del(remover);
      recording_free(&r);
    }
  }
}

/// Headphones: reeds, keys and knocks, on the beat or not, but no click.
static void
long_nothing_changed_without_clicks(void** const state)
{
  (void)state;
  for (size_t turn = 0; turn < 12; ++turn) {
    const double period_s = 0.3 + 0.07 * (double)turn;
    const size_t count = (size_t)(40.0 * RATE);
    float* const samples = (float*)calloc(count, sizeof(float));
    float* const before = (float*)malloc(count * sizeof(float));
    Random random = {turn};
    if (turn > 0) {
      room_noise(samples, count, RATE, -60.0, &random);
    }
    if (turn > 1) {
      // Each second turn the player is exactly on the beat
      add_reeds(samples, count, 0.3, turn % 2 ? 0.31 : 0.5 * period_s, &random);
    }
    const double knock_s = turn % 3 ? period_s : 0.61;
    for (unsigned knock = 0; turn > 5 && 0.3 + knock * knock_s < 39.0; ++knock) {
      const double at_s = 0.3 + knock * knock_s;
      const size_t from = (size_t)(at_s * RATE);
      for (size_t i = 0; i < 800; ++i) {
        samples[from + i] += (float)(0.2 * random_normal(&random) * exp(-(double)i / 90.0));
      }
    }
    memcpy(before, samples, count * sizeof(float));
    SrClickSetting setting = setting_make(RATE, period_s * RATE, 4, 4, 0.3 * RATE);
    SrClickRemover* const remover = make(&setting);
    push(remover, samples, count, 4096);
    assert_memory_equal(samples, before, count * sizeof(float));
    const SrClickHeard heard = sr_click_remover_heard(remover);
    assert_false(heard.heard);
    assert_true(isnan(heard.round_trip) && isnan(heard.level_db) && isnan(heard.left_db));
    sr_click_remover_del(remover);
    setting_free(&setting);
    free(samples);
    free(before);
  }
}

static void
chunks_make_no_difference(void** const state)
{
  (void)state;
  const ClickWay way = {
      .delay = 3000.6, .level = 0.1, .rt60_s = 0.3, .direct_db = 6.0, .drift = 3e-5, .seed = 8};
  Recording r = record(0.5, &way, 2.0, -60.0);
  static const size_t chunks[] = {1, 64, 1000, 4000000};
  float* first = NULL;
  for (size_t c = 0; c < 4; ++c) {
    float* const samples = (float*)malloc(r.count * sizeof(float));
    memcpy(samples, r.samples, r.count * sizeof(float));
    SrClickRemover* const remover = make(&r.setting);
    push(remover, samples, r.count, chunks[c]);
    sr_click_remover_del(remover);
    if (!first) {
      first = samples;
      assert_true(memcmp(first, r.samples, r.count * sizeof(float)) != 0);
    } else {
      assert_memory_equal(first, samples, r.count * sizeof(float));
      free(samples);
    }
  }
  free(first);
  recording_free(&r);
}

/// Lost samples stay lost, and only they: clicks are taken out behind them as before.
static void
lost_samples_pass(void** const state)
{
  (void)state;
  const ClickWay way = {.delay = 5000.2, .level = 0.1, .rt60_s = 0.3, .direct_db = 6.0, .seed = 9};
  Recording r = record(0.5, &way, 2.6, -60.0);
  static const double lost_s[] = {0.45, 1.6, 3.1, 3.6, 7.05};
  for (size_t l = 0; l < 5; ++l) {
    for (size_t i = 0; i < 900; ++i) {
      r.samples[(size_t)(lost_s[l] * RATE) + i] = i % 2 ? NAN : INFINITY;
    }
  }
  SrClickRemover* const remover = make(&r.setting);
  push(remover, r.samples, r.count, 1000);
  size_t lost = 0;
  for (size_t i = 0; i < r.count; ++i) {
    lost += isfinite(r.samples[i]) ? 0 : 1;
  }
  assert_int_equal(lost, 5 * 900);
  for (unsigned k = 15; k < CLICKS - 1; ++k) {
    assert_true(left_db(&r, &way, k, 0.03) < -25.0);
  }
  sr_click_remover_del(remover);
  recording_free(&r);
}

/// In silent bars nothing is taken out, and behind them all is as before.
static void
silent_bars(void** const state)
{
  (void)state;
  const ClickWay way = {.delay = 4000.5, .level = 0.1, .rt60_s = 0.3, .direct_db = 6.0, .seed = 10};
  SrClickSetting setting = setting_make(RATE, 0.4 * RATE, 3, 3, 0.5 * RATE);
  setting.on_bars = 1;
  setting.off_bars = 2;
  const size_t count = (size_t)(16.0 * RATE);
  Recording r = {.setting = setting, .count = count};
  r.without = (float*)calloc(count, sizeof(float));
  r.alone = (float*)calloc(count, sizeof(float));
  r.samples = (float*)calloc(count, sizeof(float));
  Random random = {4};
  room_noise(r.without, count, RATE, -60.0, &random);
  add_reeds(r.without, count, 0.5 + 3 * 0.4, 0.31, &random);
  memcpy(r.samples, r.without, count * sizeof(float));
  clicks_add(&setting, &way, r.samples, count, r.alone);
  SrClickRemover* const remover = make(&setting);
  push(remover, r.samples, count, 1000);
  for (unsigned k = 3; k < 36; ++k) {
    const size_t at = (size_t)(setting.began + way.delay + k * setting.period);
    if ((k - 3) / 3 % 3 == 0) {
      assert_true(left_db(&r, &way, k, 0.03) < -25.0);
    } else if ((k - 3) % 9 > 3) {
      // The last one's reverberation is over too
      const size_t span = (size_t)(0.35 * RATE);
      for (size_t i = at; i < at + span; ++i) {
        assert_true(r.samples[i] == r.without[i] + r.alone[i]);
      }
    }
  }
  sr_click_remover_del(remover);
  recording_free(&r);
}

/// Two devices whose clocks are 100 ppm apart.
static void
clocks_that_drift(void** const state)
{
  (void)state;
  static const double drifts[] = {1e-4, -1e-4, 3e-5};
  for (size_t d = 0; d < 3; ++d) {
    const ClickWay way = {.delay = 6000.1,
                          .level = 0.1,
                          .rt60_s = 0.3,
                          .direct_db = 6.0,
                          .drift = drifts[d],
                          .seed = 11 + d};
    Recording r = record(1.1, &way, 0.4 + 4 * 1.1, -60.0);
    SrClickRemover* const remover = make(&r.setting);
    push(remover, r.samples, r.count, 1000);
    double mean_db = 0.0;
    for (unsigned k = 4; k < CLICKS - 1; ++k) {
      mean_db += left_db(&r, &way, k, 0.03) / (CLICKS - 5);
    }
    const SrClickHeard heard = sr_click_remover_heard(remover);
    const double last = way.delay + (CLICKS - 1) * r.setting.period * way.drift;
    printf("drift %4.0f ppm: left %.1f dB, arrival within %.2f samples\n", 1e6 * way.drift, mean_db,
           fabs(heard.round_trip - last));
    assert_true(mean_db < -25.0);
    assert_true(fabs(heard.round_trip - last) < 0.0005 * RATE);
    sr_click_remover_del(remover);
    recording_free(&r);
  }
}

/// The click is turned down in the middle, then headphones are put in: soon nothing is done.
static void
turned_down_and_off(void** const state)
{
  (void)state;
  const ClickWay way = {
      .delay = 5000.0, .level = 0.14, .rt60_s = 0.3, .direct_db = 6.0, .seed = 12};
  Recording r = record(0.5, &way, 2.6, -60.0);
  for (size_t i = 0; i < r.count; ++i) {
    const double t = (double)i / RATE;
    const float scale = t < 5.3 ? 1.0f : t < 9.3 ? 0.5f : 0.0f;
    r.alone[i] *= scale;
    r.samples[i] = r.without[i] + r.alone[i];
  }
  SrClickRemover* const remover = make(&r.setting);
  push(remover, r.samples, r.count, 1000);
  for (unsigned k = 13; k < 17; ++k) {
    const double db = left_db(&r, &way, k, 0.03);
    printf("turned down, click %u: left %.1f dB\n", k, db);
    assert_true(db < -20.0);
  }
  const size_t from = (size_t)(11.0 * RATE);
  for (size_t i = from; i < r.count; ++i) {
    assert_true(r.samples[i] == r.without[i]);
  }
  assert_false(sr_click_remover_heard(remover).heard);
  sr_click_remover_del(remover);
  recording_free(&r);
}

/// Someone gets up and sits down elsewhere: the reverberation becomes another within 8 s.
static void
room_that_changes(void** const state)
{
  (void)state;
  ClickWay way = {.delay = 5000.3, .level = 0.14, .rt60_s = 0.4, .direct_db = 5.0, .seed = 3};
  Recording r = record(0.6, &way, 0.4 + 4 * 0.6 + 0.1, -60.0);
  float* const other = (float*)calloc(r.count, sizeof(float));
  float* const unused = (float*)calloc(r.count, sizeof(float));
  way.rt60_s = 0.35; // and with it each reflection is another
  clicks_add(&r.setting, &way, unused, r.count, other);
  for (size_t i = 0; i < r.count; ++i) {
    const float part = fminf(1.0f, fmaxf(0.0f, ((float)i / (float)RATE - 3.0f) / 8.0f));
    r.alone[i] += part * (other[i] - r.alone[i]);
    r.samples[i] = r.without[i] + r.alone[i];
  }
  SrClickRemover* const remover = make(&r.setting);
  push(remover, r.samples, r.count, 1000);
  double worst_db = -100.0;
  double last_db = 0.0;
  for (unsigned k = 2; k < CLICKS - 1; ++k) {
    last_db = left_db(&r, &way, k, 0.03);
    worst_db = fmax(worst_db, last_db);
  }
  printf("room that changes: worst %.1f dB, %.1f dB in the end\n", worst_db, last_db);
  assert_true(worst_db < -15.0);
  assert_true(last_db < -20.0);
  sr_click_remover_del(remover);
  free(other);
  free(unused);
  recording_free(&r);
}

/// Heard a second time, a recording loses its first clicks too.
static void
rewound(void** const state)
{
  (void)state;
  const ClickWay way = {
      .delay = 5000.4, .level = 0.1, .rt60_s = 0.3, .direct_db = 6.0, .drift = 5e-5, .seed = 13};
  Recording r = record(0.5, &way, 2.6, -60.0);
  float* const again = (float*)malloc(r.count * sizeof(float));
  memcpy(again, r.samples, r.count * sizeof(float));
  SrClickRemover* const remover = make(&r.setting);
  push(remover, r.samples, r.count, 1000);
  assert_true(left_db(&r, &way, 0, 0.03) > -0.1);
  sr_click_remover_rewind(remover);
  memcpy(r.samples, again, r.count * sizeof(float));
  push(remover, r.samples, r.count, 1000);
  for (unsigned k = 0; k < CLICKS - 1; ++k) {
    assert_true(left_db(&r, &way, k, 0.03) < -25.0);
  }
  sr_click_remover_del(remover);
  free(again);
  recording_free(&r);
}

/// Any rate: all but the first two clicks go.
static void
any_rate(void** const state)
{
  (void)state;
  static const double rates[] = {16000.0, 22050.0, 48000.0, 96000.0};
  for (size_t i = 0; i < 4; ++i) {
    const double rate = rates[i];
    Recording r = {.setting = setting_make(rate, 0.63 * rate, 3, 3, 0.3 * rate)};
    const ClickWay way = {
        .delay = 0.05 * rate + 0.3, .level = 0.1, .rt60_s = 0.3, .direct_db = 6.0, .seed = 20 + i};
    r.count = (size_t)(7.0 * rate);
    r.samples = (float*)calloc(r.count, sizeof(float));
    r.alone = (float*)calloc(r.count, sizeof(float));
    r.without = (float*)calloc(r.count, sizeof(float));
    Random random = {i};
    room_noise(r.without, r.count, rate, -65.0, &random);
    memcpy(r.samples, r.without, r.count * sizeof(float));
    clicks_add(&r.setting, &way, r.samples, r.count, r.alone);
    SrClickRemover* const remover = make(&r.setting);
    push(remover, r.samples, r.count, 1000);
    double worst_db = -100.0;
    for (unsigned k = 2; k < 10; ++k) {
      worst_db = fmax(worst_db, left_db(&r, &way, k, 0.03));
    }
    const SrClickHeard heard = sr_click_remover_heard(remover);
    printf("%6.0f Hz: left %.1f dB at worst, arrives %.2f late\n", rate, worst_db,
           heard.round_trip - way.delay);
    assert_true(worst_db < -25.0);
    assert_true(fabs(heard.round_trip - way.delay) < 0.0005 * rate);
    sr_click_remover_del(remover);
    recording_free(&r);
  }
}

/// A click hardly to be heard, as it leaks from headphones, is at least not made worse.
static void
faint_clicks(void** const state)
{
  (void)state;
  for (size_t turn = 0; turn < 6; ++turn) {
    const double db = turn % 2 ? -40.0 : -30.0;
    const ClickWay way = {.delay = 900.0 + 4000.0 * (double)turn,
                          .level = level_of(db),
                          .rt60_s = 0.2,
                          .direct_db = 10.0,
                          .seed = 30 + turn};
    Recording r = record(0.6, &way, 0.4 + 4 * 0.6 + way.delay / RATE, -65.0);
    SrClickRemover* const remover = make(&r.setting);
    push(remover, r.samples, r.count, 1000);
    double worst_db;
    const double mean_db = mean_left_db(&r, &way, 2, &worst_db);
    const SrClickHeard heard = sr_click_remover_heard(remover);
    printf("click at %.0f dB, noise %.0f dB under it: %s, left %.1f dB, at worst %.1f\n", db,
           20.0 * log10(way.level) + 65.0, heard.heard ? "found" : "not found", mean_db, worst_db);
    assert_true(worst_db < 1.0);
    assert_true(!heard.heard || fabs(heard.round_trip - way.delay) < 0.0005 * RATE);
    sr_click_remover_del(remover);
    recording_free(&r);
  }
}

static void
bad_settings_are_reported(void** const state)
{
  (void)state;
  static const float bad_sound[] = {0.1f, NAN};
  static const float no_sound[] = {0.0f, 0.0f};
  for (size_t i = 0; i < 9; ++i) {
    SrClickSetting good = setting_make(RATE, 0.5 * RATE, 4, 4, 0.0);
    SrClickSetting s = good;
    switch (i) {
    case 0:
      s.rate_hz = 8000.0;
      break;
    case 1:
      s.rate_hz = (double)NAN;
      break;
    case 2:
      s.period = 100.0;
      break;
    case 3:
      s.period = (double)NAN;
      break;
    case 4:
      s.began = (double)INFINITY;
      break;
    case 5:
      s.plain = bad_sound;
      s.plain_count = 2;
      break;
    case 6:
      s.accent = no_sound;
      s.accent_count = 2;
      break;
    case 7:
      s.plain = NULL;
      break;
    default:
      s.bar_clicks = 0;
      s.on_bars = 2;
      s.off_bars = 2;
      break;
    }
    SrClickRemover* remover = NULL;
    SrError error = {0};
    assert_int_equal(sr_click_remover_new(&s, &remover, &error), SR_BAD_ARGUMENT);
    assert_null(remover);
    assert_true(strlen(error.message) > 10);
    setting_free(&good);
  }
  sr_click_remover_del(NULL);
}

int
main(const int argc, char** const argv)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(gone_after_the_count_in),
      cmocka_unit_test(begun_in_a_click),
      cmocka_unit_test(long_found_while_reeds_play),
      cmocka_unit_test(long_nothing_changed_without_clicks),
      cmocka_unit_test(chunks_make_no_difference),
      cmocka_unit_test(lost_samples_pass),
      cmocka_unit_test(silent_bars),
      cmocka_unit_test(clocks_that_drift),
      cmocka_unit_test(turned_down_and_off),
      cmocka_unit_test(room_that_changes),
      cmocka_unit_test(rewound),
      cmocka_unit_test(any_rate),
      cmocka_unit_test(faint_clicks),
      cmocka_unit_test(bad_settings_are_reported),
  };
  sr_test_extent(argc, argv);
  return cmocka_run_group_tests(tests, NULL, NULL);
}
