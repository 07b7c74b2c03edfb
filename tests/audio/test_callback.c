// SPDX-License-Identifier: GPL-3.0-or-later

// The callbacks, called by hand with a made clock: clicks to the sample, losses to the sample.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "audio/callback.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define RATE_HZ 48000.0
#define FRAMES 240ul

/// Both devices, run by hand.
typedef struct {
  SrCallback callback;
  double clock_s; ///< At the start of the next buffer
  uint64_t came;  ///< Frames the device has captured so far; sample n has the value n modulo TURN
  uint64_t put;   ///< Frames the device took
  unsigned long frames;
} Desk;

/// Samples are numbered modulo this, so that a float holds them exactly.
#define TURN 16000000u

static Desk*
desk_make(const unsigned outputs, const double heard_s)
{
  Desk* const desk = (Desk*)calloc(1, sizeof(Desk));
  assert_non_null(desk);
  assert_true(sr_callback_begin(&desk->callback, RATE_HZ, 1, outputs, 0, heard_s, 1.0));
  desk->clock_s = 1000.0;
  desk->frames = FRAMES;
  return desk;
}

static void
desk_free(Desk* const desk)
{
  sr_callback_end(&desk->callback);
  free(desk);
}

/// The clock goes on by a buffer, and the microphone delivers it.
static void
hear(Desk* const desk, const PaStreamCallbackFlags flags)
{
  float input[4096];
  for (size_t i = 0; i < desk->frames; ++i) {
    input[i] = (float)((desk->came + i) % TURN);
  }
  desk->came += desk->frames;
  desk->clock_s = 1000.0 + (double)desk->came / RATE_HZ;
  const PaStreamCallbackTimeInfo time = {0.0, desk->clock_s, 0.0};
  assert_int_equal(sr_callback_hear(input, NULL, desk->frames, &time, flags, &desk->callback),
                   paContinue);
}

/// The loudspeaker takes a buffer.
static void
sound(Desk* const desk, float* const output)
{
  const PaStreamCallbackTimeInfo time = {0.0, desk->clock_s, 0.0};
  assert_int_equal(sr_callback_sound(NULL, output, desk->frames, &time, 0, &desk->callback),
                   paContinue);
  desk->put += desk->frames;
}

/// Let both run until the click may begin.
static void
settle(Desk* const desk)
{
  float output[8192];
  float samples[4096];
  for (double end_s = desk->clock_s + 2.0; desk->clock_s < end_s;) {
    sound(desk, output);
    hear(desk, 0);
    while (sr_callback_read(&desk->callback, samples, 4096)) {
    }
  }
  assert_true(desk->callback.link.linked);
  // Both ran alike, so both count alike.
  assert_true(llabs((long long)desk->callback.link.shift) <= 1);
}

/// What a click is, reported again from the words of stream.h.
static float
level_of(const SrClickPlan* const plan, const uint64_t click)
{
  const int64_t behind = (int64_t)click - (int64_t)plan->count_in;
  int64_t place = plan->bar_clicks ? behind % (int64_t)plan->bar_clicks : 1;
  if (place < 0) {
    place += plan->bar_clicks;
  }
  if (behind >= 0 && plan->bar_clicks && plan->on_bars && plan->off_bars) {
    const int64_t bar = behind / (int64_t)plan->bar_clicks;
    if (bar % (plan->on_bars + plan->off_bars) >= plan->on_bars) {
      return 0.0f;
    }
  }
  return (place == 0 ? plan->accent[0] : plan->plain[0]) * plan->volume;
}

/// Play a plan of one-sample clicks for `frames` frames; every sample must be as reported.
static void
play_plan(const SrClickPlan* const plan, const uint64_t frames)
{
  Desk* const desk = desk_make(1, 1.0);
  settle(desk);
  assert_int_equal(sr_clicker_start(&desk->callback.clicker, plan, RATE_HZ, NULL), SR_OK);
  uint64_t began = 0;
  assert_false(sr_clicker_began(&desk->callback.clicker, &began));
  uint64_t click = 0;
  uint64_t wrong = 0;
  uint64_t here = 0;
  uint32_t random = 3;
  float output[4096];
  float samples[4096];
  const uint64_t zero = desk->put;
  while (desk->put - zero < frames) {
    // Any size of buffer: those of the sound servers are not even.
    random = random * 1664525u + 1013904223u;
    desk->frames = 1 + (random >> 8) % 1000;
    const uint64_t position = (uint64_t)((int64_t)desk->put + desk->callback.link.shift);
    sound(desk, output);
    if (!here) {
      assert_true(sr_clicker_began(&desk->callback.clicker, &began));
      assert_int_equal(began, position);
    }
    for (size_t i = 0; i < desk->frames; ++i, ++here) {
      float due = 0.0f;
      if (here == (uint64_t)llround((double)click * plan->period)) {
        due = level_of(plan, click);
        ++click;
      }
      wrong += !(output[i] == due);
    }
    hear(desk, 0);
    while (sr_callback_read(&desk->callback, samples, 4096)) {
    }
  }
  assert_int_equal(wrong, 0);
  assert_true(click >= (uint64_t)((double)frames / plan->period));
  desk_free(desk);
}

static void
clicks_fall_on_their_sample_for_an_hour(void** const state)
{
  (void)state;
  const float plain = 0.25f;
  const float accent = 0.75f;
  static const double periods[] = {1000.0, 1000.0 + 1.0 / 3.0, 22153.846153846152, 28800.0 / 1.1,
                                   44100.0 * 0.4999999};
  for (size_t i = 0; i < sizeof(periods) / sizeof(periods[0]); ++i) {
    const SrClickPlan plan = {.plain = &plain,
                              .plain_count = 1,
                              .accent = &accent,
                              .accent_count = 1,
                              .period = periods[i],
                              .bar_clicks = 3,
                              .volume = 1.0f};
    play_plan(&plan, (uint64_t)(3600.0 * RATE_HZ));
  }
}

static void
bars_count_in_and_fall_silent(void** const state)
{
  (void)state;
  const float plain = 0.25f;
  const float accent = 0.75f;
  static const unsigned shapes[][4] = {
      // bar, on, off, count-in
      {4, 0, 0, 0}, {4, 2, 1, 4}, {3, 1, 3, 2}, {2, 4, 4, 7}, {0, 0, 0, 5},
      {1, 1, 1, 0}, {4, 2, 0, 4}, {4, 0, 2, 4}, {6, 1, 1, 1},
  };
  for (size_t i = 0; i < sizeof(shapes) / sizeof(shapes[0]); ++i) {
    const SrClickPlan plan = {.plain = &plain,
                              .plain_count = 1,
                              .accent = &accent,
                              .accent_count = 1,
                              .period = 1234.56,
                              .bar_clicks = shapes[i][0],
                              .on_bars = shapes[i][1],
                              .off_bars = shapes[i][2],
                              .count_in = shapes[i][3],
                              .volume = 0.5f};
    play_plan(&plan, 120000);
  }
}

/// Put out `count` frames.
static void
put_out(Desk* const desk, float* const output, const size_t count)
{
  float samples[4096];
  desk->frames = FRAMES;
  for (size_t done = 0; done < count; done += FRAMES) {
    sound(desk, output + done);
    hear(desk, 0);
    while (sr_callback_read(&desk->callback, samples, 4096)) {
    }
  }
}

static void
long_clicks_overlap_and_are_limited(void** const state)
{
  (void)state;
  enum { LENGTH = 2500, SPAN = 9600 };
  float plain[LENGTH];
  for (size_t i = 0; i < LENGTH; ++i) {
    plain[i] = 0.3f + 0.0001f * (float)i;
  }
  Desk* const desk = desk_make(2, 1.0);
  settle(desk);
  const SrClickPlan plan = {
      .plain = plain, .plain_count = LENGTH, .period = 1000.25, .volume = 1.0f};
  assert_int_equal(sr_clicker_start(&desk->callback.clicker, &plan, RATE_HZ, NULL), SR_OK);
  static float output[2 * SPAN];
  desk->frames = SPAN / 8;
  for (size_t i = 0; i < 8; ++i) {
    sound(desk, output + 2 * i * desk->frames);
  }
  size_t limited = 0;
  for (size_t i = 0; i < SPAN; ++i) {
    float sum = 0.0f;
    for (size_t click = 0; click < 10; ++click) {
      const size_t from = (size_t)llround((double)click * plan.period);
      sum += i >= from && i < from + LENGTH ? plain[i - from] : 0.0f;
    }
    limited += sum > 1.0f;
    assert_float_equal(output[2 * i], fminf(sum, 1.0f), 1e-6);
    assert_true(output[2 * i] == output[2 * i + 1]);
  }
  assert_true(limited > 100);
  desk_free(desk);
}

static void
a_stopped_click_sounds_to_its_end(void** const state)
{
  (void)state;
  enum { LENGTH = 700, SPAN = 2400 };
  float plain[LENGTH];
  for (size_t i = 0; i < LENGTH; ++i) {
    plain[i] = 0.5f;
  }
  Desk* const desk = desk_make(1, 1.0);
  SrClicker* const clicker = &desk->callback.clicker;
  settle(desk);
  const SrClickPlan plan = {
      .plain = plain, .plain_count = LENGTH, .period = 1000.0, .volume = 1.0f};
  static float output[SPAN];
  // More often than there are slots.
  for (size_t turn = 0; turn < 3ul * SR_CLICK_SLOTS; ++turn) {
    assert_int_equal(sr_clicker_start(clicker, &plan, RATE_HZ, NULL), SR_OK);
    assert_int_equal(sr_clicker_start(clicker, &plan, RATE_HZ, NULL), SR_BAD_ARGUMENT);
    put_out(desk, output, FRAMES);
    sr_clicker_volume(clicker, 0.0f);
    sr_clicker_stop(clicker);
    put_out(desk, output + FRAMES, SPAN - FRAMES);
    for (size_t i = 0; i < SPAN; ++i) {
      assert_true(output[i] == (i < LENGTH ? 0.5f : 0.0f));
    }
  }
  // The next may begin while the last still sounds.
  uint64_t first = 0;
  uint64_t second = 0;
  assert_int_equal(sr_clicker_start(clicker, &plan, RATE_HZ, NULL), SR_OK);
  put_out(desk, output, FRAMES);
  assert_true(sr_clicker_began(clicker, &first));
  sr_clicker_stop(clicker);
  assert_int_equal(sr_clicker_start(clicker, &plan, RATE_HZ, NULL), SR_OK);
  assert_false(sr_clicker_began(clicker, &second));
  put_out(desk, output, FRAMES);
  assert_true(sr_clicker_began(clicker, &second));
  assert_int_equal(second, first + FRAMES);
  assert_true(output[FRAMES - 1] == 1.0f);
  desk_free(desk);
}

static void
loudness_changes_from_the_next_click(void** const state)
{
  (void)state;
  enum { LENGTH = 960, SPAN = 2400 };
  float plain[LENGTH];
  for (size_t i = 0; i < LENGTH; ++i) {
    plain[i] = 1.0f;
  }
  Desk* const desk = desk_make(1, 1.0);
  settle(desk);
  const SrClickPlan plan = {
      .plain = plain, .plain_count = LENGTH, .period = 1200.0, .volume = 0.5f};
  assert_int_equal(sr_clicker_start(&desk->callback.clicker, &plan, RATE_HZ, NULL), SR_OK);
  static float output[SPAN];
  put_out(desk, output, FRAMES);
  sr_clicker_volume(&desk->callback.clicker, 0.125f);
  put_out(desk, output + FRAMES, SPAN - FRAMES);
  for (size_t i = 0; i < SPAN; ++i) {
    const float level = i < 1200 ? 0.5f : 0.125f;
    assert_true(output[i] == (i % 1200 < LENGTH ? level : 0.0f));
  }
  desk_free(desk);
}

static void
wrong_plans_are_refused(void** const state)
{
  (void)state;
  static const float plain[2] = {0.0f, 0.0f};
  const SrClickPlan good = {.plain = plain, .plain_count = 2, .period = 1000.0, .volume = 1.0f};
  SrClickPlan bad[7];
  for (size_t i = 0; i < 7; ++i) {
    bad[i] = good;
  }
  bad[0].period = 999.9;
  bad[1].period = (double)NAN;
  bad[2].volume = 1.5f;
  bad[3].volume = NAN;
  bad[4].plain_count = 48001;
  bad[5].plain = NULL;
  bad[6].on_bars = 1;
  bad[6].off_bars = 1;
  Desk* const desk = desk_make(1, 1.0);
  SrError error;
  for (size_t i = 0; i < 7; ++i) {
    assert_int_equal(sr_clicker_start(&desk->callback.clicker, &bad[i], RATE_HZ, &error),
                     SR_BAD_ARGUMENT);
    assert_true(strlen(error.message) > 0);
  }
  assert_int_equal(sr_clicker_start(&desk->callback.clicker, &good, RATE_HZ, NULL), SR_OK);
  desk_free(desk);
}

static void
what_is_given_is_played_once(void** const state)
{
  (void)state;
  enum { SPAN = 4800 };
  Desk* const desk = desk_make(1, 1.0);
  settle(desk);
  SrCallback* const callback = &desk->callback;
  float given[1000];
  for (size_t i = 0; i < 1000; ++i) {
    given[i] = (float)(i + 1) / 2000.0f;
  }
  given[7] = NAN;
  given[8] = 3.0f;
  given[9] = -INFINITY;
  uint64_t frame = 0;
  assert_false(sr_callback_play_began(callback, &frame));
  assert_int_equal(sr_callback_play(callback, given, 1000), 1000);
  assert_int_equal(sr_callback_unplayed(callback), 1000);
  assert_false(sr_callback_play_began(callback, &frame));
  const uint64_t position = (uint64_t)((int64_t)callback->put + callback->link.shift);
  static float output[SPAN];
  put_out(desk, output, SPAN);
  assert_int_equal(sr_callback_unplayed(callback), 0);
  assert_true(sr_callback_play_began(callback, &frame));
  assert_int_equal(frame, position);
  for (size_t i = 0; i < SPAN; ++i) {
    const float due = i == 7 ? 0.0f : i == 8 ? 1.0f : i == 9 ? -1.0f : i < 1000 ? given[i] : 0.0f;
    assert_true(output[i] == due);
  }
  // What is hushed is not heard, what is given behind it is, and its beginning is its own.
  assert_int_equal(sr_callback_play(callback, given + 100, 900), 900);
  put_out(desk, output, FRAMES);
  assert_true(output[FRAMES - 1] == given[100 + FRAMES - 1]);
  sr_callback_hush(callback);
  assert_int_equal(sr_callback_unplayed(callback), 0);
  assert_int_equal(sr_callback_play(callback, given + 500, 10), 10);
  assert_int_equal(sr_callback_unplayed(callback), 10);
  assert_false(sr_callback_play_began(callback, &frame));
  put_out(desk, output, FRAMES);
  for (size_t i = 0; i < FRAMES; ++i) {
    assert_true(output[i] == (i < 10 ? given[500 + i] : 0.0f));
  }
  assert_true(sr_callback_play_began(callback, &frame));
  assert_int_equal(frame, position + SPAN + FRAMES);
  // No more than there is room for.
  static const float quiet[100000];
  assert_int_equal(sr_callback_play(callback, quiet, 100000), 65536);
  desk_free(desk);
}

static void
without_room_what_was_lost_is_no_number(void** const state)
{
  (void)state;
  Desk* const desk = desk_make(0, 0.1);
  SrCallback* const callback = &desk->callback;
  static float samples[100000];
  uint64_t read = 0;
  uint64_t missing = 0;
  uint32_t random = 5;
  // A reader that often comes too late.
  for (size_t turn = 0; turn < 3000; ++turn) {
    random = random * 1664525u + 1013904223u;
    const size_t buffers = (random >> 8) % 60;
    for (size_t i = 0; i < buffers; ++i) {
      hear(desk, 0);
    }
    random = random * 1664525u + 1013904223u;
    const size_t room = 1 + (random >> 8) % 16000;
    const size_t count = sr_callback_read(callback, samples, room);
    for (size_t i = 0; i < count; ++i, ++read) {
      if (isnan(samples[i])) {
        ++missing;
      } else {
        assert_true(samples[i] == (float)(read % TURN));
      }
    }
  }
  // Room for more, so that the last loss is handed on with what follows it.
  while (read < desk->came) {
    const size_t count = sr_callback_read(callback, samples, 100000);
    for (size_t i = 0; i < count; ++i, ++read) {
      missing += isnan(samples[i]) ? 1 : 0;
      assert_true(isnan(samples[i]) || samples[i] == (float)(read % TURN));
    }
    if (!count) {
      hear(desk, 0);
    }
  }
  const SrStreamTrouble trouble = sr_callback_trouble(callback);
  assert_int_equal(trouble.lost, missing);
  assert_true(trouble.overruns > 100 && trouble.overruns < missing);
  desk_free(desk);
}

static void
a_full_ring_loses_exactly_what_has_no_room(void** const state)
{
  (void)state;
  Desk* const desk = desk_make(0, 0.02);
  const size_t room = (size_t)desk->callback.heard.size;
  assert_int_equal(room, 1024);
  for (size_t i = 0; i < 10; ++i) {
    hear(desk, 0);
  }
  static float samples[8192];
  assert_int_equal(sr_callback_read(&desk->callback, samples, 8192), room);
  hear(desk, 0);
  const size_t count = sr_callback_read(&desk->callback, samples + room, 8192 - room);
  assert_int_equal(room + count, 11 * FRAMES);
  for (size_t i = 0; i < 11 * FRAMES; ++i) {
    if (i < room || i >= 10 * FRAMES) {
      assert_true(samples[i] == (float)i);
    } else {
      assert_true(isnan(samples[i]));
    }
  }
  assert_int_equal(sr_callback_trouble(&desk->callback).overruns, 1);
  assert_int_equal(sr_callback_trouble(&desk->callback).lost, 10 * FRAMES - room);
  desk_free(desk);
}

/// The device tells of a loss: `lost_frames` did not come, and the callback comes `late_s` late.
static uint64_t
report_of_loss(const uint64_t lost_frames, const double late_s, const int clock)
{
  Desk* const desk = desk_make(0, 10.0);
  float input[FRAMES];
  uint64_t delivered = 0;
  double now_s = 0.0;
  for (size_t i = 0; i < 1000; ++i) {
    for (size_t k = 0; k < FRAMES; ++k) {
      input[k] = (float)(delivered + k);
    }
    delivered += FRAMES;
    const uint64_t missing = i >= 700 ? lost_frames : 0;
    // Callbacks of a sound server come up to 4 ms late.
    const double jitter_s = (double)(i * 7 % 5) * 0.001;
    now_s = 5000.0 + (double)(delivered + missing) / RATE_HZ + jitter_s;
    if (i == 700) {
      now_s += late_s - jitter_s;
    }
    const PaStreamCallbackTimeInfo time = {0.0,
                                           clock == 0   ? 0.0
                                           : clock == 1 ? 5000.0
                                                        : now_s,
                                           0.0};
    sr_callback_hear(input, NULL, FRAMES, &time, i == 700 ? paInputOverflow : 0, &desk->callback);
  }
  const uint64_t reported = sr_callback_trouble(&desk->callback).lost;
  assert_int_equal(sr_callback_trouble(&desk->callback).overruns, 1);
  // In its place, and nothing else is lost.
  static float samples[800000];
  const size_t count = sr_callback_read(&desk->callback, samples, 800000);
  assert_int_equal(count, 1000 * FRAMES + reported);
  for (size_t i = 0; i < count; ++i) {
    if (i < 700 * FRAMES) {
      assert_true(samples[i] == (float)i);
    } else if (i < 700 * FRAMES + reported) {
      assert_true(isnan(samples[i]));
    } else {
      assert_true(samples[i] == (float)(i - reported));
    }
  }
  desk_free(desk);
  return reported;
}

static void
what_the_device_lost_is_reported_by_its_clock(void** const state)
{
  (void)state;
  enum { WITH_CLOCK = 2 };
  // On time, it is exact to the rounding of a clock.
  assert_true(llabs((long long)report_of_loss(4321, 0.0, WITH_CLOCK) - 4321) <= 1);
  assert_true(llabs((long long)report_of_loss(100000, 0.0, WITH_CLOCK) - 100000) <= 1);
  // Late by so much, it is off by so much.
  assert_true(llabs((long long)report_of_loss(4321, 0.003, WITH_CLOCK) - (4321 + 144)) <= 1);
  // At least one, at most five seconds; one where the clock stands or is none.
  assert_int_equal(report_of_loss(0, 0.0, WITH_CLOCK), 1);
  assert_int_equal(report_of_loss(300000, 0.0, WITH_CLOCK), 240000);
  assert_int_equal(report_of_loss(4321, 0.0, 0), 1);
  assert_int_equal(report_of_loss(4321, 0.0, 1), 1);
}

/// A sound server drops what nobody took, and says nothing: the clock tells, a moment later.
static void
what_nobody_reported_of_is_reported_by_the_clock(void** const state)
{
  (void)state;
  static const double gaps_s[] = {0.0, 0.1, 0.8, 3.0, 4.9};
  for (size_t g = 0; g < sizeof(gaps_s) / sizeof(gaps_s[0]); ++g) {
    Desk* const desk = desk_make(0, 20.0);
    float input[FRAMES] = {0};
    uint64_t delivered = 0;
    uint64_t reported_at = 0;
    for (size_t i = 0; i < 2500; ++i) {
      delivered += FRAMES;
      // The gap comes after five seconds, and half a second that was buffered comes at once
      const bool after = i >= 940;
      const double burst_s = after && i < 1030 ? 0.5 * (double)(1030 - i) / 90.0 : 0.0;
      const double jitter_s = (double)(i * 7 % 5) * 0.001;
      const double now_s =
          5000.0 + (double)delivered / RATE_HZ + jitter_s + (after ? gaps_s[g] + burst_s : 0.0);
      const PaStreamCallbackTimeInfo time = {0.0, now_s, 0.0};
      sr_callback_hear(input, NULL, FRAMES, &time, 0, &desk->callback);
      if (!reported_at && sr_callback_trouble(&desk->callback).lost) {
        reported_at = delivered;
      }
    }
    const SrStreamTrouble trouble = sr_callback_trouble(&desk->callback);
    if (gaps_s[g] < 0.3) {
      assert_int_equal(trouble.overruns, 0);
    } else {
      assert_int_equal(trouble.overruns, 1);
      assert_true(fabs((double)trouble.lost / RATE_HZ - gaps_s[g]) < 0.05);
      assert_true((double)(reported_at - 940 * FRAMES) / RATE_HZ < 2.5);
    }
    desk_free(desk);
  }
}

/// A program that was stopped for three seconds gets all that was kept for it: nothing is lost.
static void
what_comes_late_is_not_lost(void** const state)
{
  (void)state;
  Desk* const desk = desk_make(0, 20.0);
  float input[FRAMES] = {0};
  uint64_t delivered = 0;
  for (size_t i = 0; i < 2500; ++i) {
    delivered += FRAMES;
    // Three seconds late, and then three times as fast as they were taken
    const double late_s =
        i < 940 ? 0.0 : fmax(0.0, 3.0 - (double)(i - 940) * FRAMES / RATE_HZ * 0.67);
    const double now_s =
        5000.0 + (double)delivered / RATE_HZ + (double)(i * 7 % 5) * 0.001 + late_s;
    const PaStreamCallbackTimeInfo time = {0.0, now_s, 0.0};
    sr_callback_hear(input, NULL, FRAMES, &time, 0, &desk->callback);
  }
  assert_int_equal(sr_callback_trouble(&desk->callback).lost, 0);
  desk_free(desk);
}

static void
channels_are_chosen_or_averaged(void** const state)
{
  (void)state;
  static const float input[8] = {0.0f, 0.5f, 0.25f, 0.75f, -1.0f, 0.0f, 1.0f, 1.0f};
  static const float due[4][2] = {
      // Two frames of four channels: the mean of the first two, then each by number
      {0.25f, -0.5f},
      {0.0f, -1.0f},
      {0.5f, 0.0f},
      {0.25f, 1.0f},
  };
  for (unsigned channel = 0; channel < 4; ++channel) {
    SrCallback* const callback = (SrCallback*)calloc(1, sizeof(SrCallback));
    assert_non_null(callback);
    assert_true(sr_callback_begin(callback, RATE_HZ, 4, 0, channel, 0.1, 0.0));
    sr_callback_hear(input, NULL, 2, NULL, 0, callback);
    float samples[3];
    assert_true(sr_callback_is_ready(callback));
    assert_int_equal(sr_callback_read(callback, samples, 3), 2);
    assert_false(sr_callback_is_ready(callback));
    assert_true(samples[0] == due[channel][0] && samples[1] == due[channel][1]);
    sr_callback_end(callback);
    free(callback);
  }
}

/// The output stood still for a while: the clicks are back in their places on the input's clock.
static void
after_an_underrun_clicks_are_back_in_place(void** const state)
{
  (void)state;
  Desk* const desk = desk_make(1, 1.0);
  settle(desk);
  const float plain = 1.0f;
  const SrClickPlan plan = {.plain = &plain, .plain_count = 1, .period = 5000.0, .volume = 1.0f};
  assert_int_equal(sr_clicker_start(&desk->callback.clicker, &plan, RATE_HZ, NULL), SR_OK);
  float output[FRAMES];
  float samples[4096];
  sound(desk, output);
  uint64_t began = 0;
  assert_true(sr_clicker_began(&desk->callback.clicker, &began));
  const int64_t shift = desk->callback.link.shift;
  // 100 ms and a bit in which only the input runs.
  for (size_t i = 0; i < 21; ++i) {
    hear(desk, 0);
  }
  const PaStreamCallbackTimeInfo time = {0.0, desk->clock_s, 0.0};
  sr_callback_sound(NULL, output, FRAMES, &time, paOutputUnderflow, &desk->callback);
  desk->put += FRAMES;
  assert_int_equal(sr_callback_trouble(&desk->callback).underruns, 1);
  size_t clicks = 0;
  for (size_t i = 0; i < 1000; ++i) {
    hear(desk, 0);
    while (sr_callback_read(&desk->callback, samples, 4096)) {
    }
    const uint64_t put = desk->put;
    sound(desk, output);
    for (size_t k = 0; i > 300 && k < FRAMES; ++k) {
      if (output[k] > 0.0f) {
        // By the truth of the desk: 20 buffers more came than went, of the time before.
        const uint64_t frame = (uint64_t)((int64_t)(put + k) + shift + 20 * (int64_t)FRAMES);
        const int64_t off = (int64_t)((frame - began + 2500) % 5000) - 2500;
        assert_true(llabs((long long)off) <= 2);
        ++clicks;
      }
    }
  }
  assert_true(clicks >= 30);
  desk_free(desk);
}

/// Both devices have their turn, each by its clock.
static void
take_turns(Desk* const desk, const double sounded_s, const double heard_s, float* const output)
{
  static const float input[FRAMES];
  float samples[4096];
  const PaStreamCallbackTimeInfo sounded = {0.0, sounded_s, 0.0};
  const PaStreamCallbackTimeInfo heard = {0.0, heard_s, 0.0};
  sr_callback_sound(NULL, output, FRAMES, &sounded, 0, &desk->callback);
  sr_callback_hear(input, NULL, FRAMES, &heard, 0, &desk->callback);
  while (sr_callback_read(&desk->callback, samples, 4096)) {
  }
}

/// Somebody set the computer's clock: the click does not care.
static void
a_clock_that_is_set_moves_no_click(void** const state)
{
  (void)state;
  static const double steps_s[] = {3600.0, -3600.0, 1e6, 0.01, -0.01, 0.015, -0.015};
  for (size_t i = 0; i < sizeof(steps_s) / sizeof(steps_s[0]); ++i) {
    Desk* const desk = desk_make(1, 1.0);
    settle(desk);
    const float plain = 1.0f;
    const SrClickPlan plan = {.plain = &plain, .plain_count = 1, .period = 5000.0, .volume = 1.0f};
    assert_int_equal(sr_clicker_start(&desk->callback.clicker, &plan, RATE_HZ, NULL), SR_OK);
    float output[FRAMES];
    size_t clicks = 0;
    for (size_t k = 0; k < 2000; ++k) {
      // The input notices first, by more than a stretch of its pace.
      const double base_s = 1000.0 + (double)desk->came / RATE_HZ;
      take_turns(desk, base_s + (k > 600 ? steps_s[i] : 0.0),
                 base_s + (double)FRAMES / RATE_HZ + (k > 350 ? steps_s[i] : 0.0), output);
      desk->came += FRAMES;
      for (size_t n = 0; n < FRAMES; ++n) {
        const size_t here = k * FRAMES + n;
        assert_true(output[n] == (here % 5000 == 0 ? 1.0f : 0.0f));
        clicks += output[n] > 0.0f;
      }
    }
    assert_int_equal(clicks, 2000 * FRAMES / 5000);
    desk_free(desk);
  }
}

/// A desk whose loudspeaker takes its buffers later by some time than its clock would have it.
typedef double (*Lateness)(double at_s);

/// Play clicks for so long, and tell how often one was off the place of the one before, and how
/// far off its place on the microphone's clock the last lies, s.
static size_t
count_jumps(const Lateness late, const double length_s, double* const off_s)
{
  Desk* const desk = desk_make(1, 1.0);
  settle(desk);
  const float plain = 1.0f;
  const SrClickPlan plan = {.plain = &plain, .plain_count = 1, .period = 24000.0, .volume = 1.0f};
  assert_int_equal(sr_clicker_start(&desk->callback.clicker, &plan, RATE_HZ, NULL), SR_OK);
  float output[FRAMES];
  size_t jumps = 0;
  size_t clicks = 0;
  uint64_t before = 0;
  for (uint64_t put = 0; (double)put < length_s * RATE_HZ; put += FRAMES) {
    const double at_s = desk->clock_s + (double)put / RATE_HZ;
    take_turns(desk, at_s + late((double)put / RATE_HZ), at_s + (double)FRAMES / RATE_HZ, output);
    for (size_t n = 0; n < FRAMES; ++n) {
      if (output[n] > 0.0f) {
        jumps += before && put + n != before + 24000;
        ++clicks;
        before = put + n;
        *off_s = late((double)before / RATE_HZ) +
                 (double)((int64_t)((before + 12000) % 24000) - 12000) / RATE_HZ;
      }
    }
  }
  desk_free(desk);
  assert_true(fabs((double)clicks - 2.0 * length_s) <= 2.0);
  return jumps;
}

/// As a sound server does that serves another program too.
static double
now_and_then_earlier(const double at_s)
{
  return fmod(at_s, 9.0) < 4.5 ? 0.0 : 0.0055;
}

/// As PulseAudio does on a busy computer, measured: slowly earlier by a block of its, and back.
static double
ever_earlier_and_back(const double at_s)
{
  return -0.0125 * fmod(at_s, 16.8) / 16.8;
}

static double
ever_later_and_back(const double at_s)
{
  return -ever_earlier_and_back(at_s);
}

/// The computer becomes busy while the click sounds, and idle again.
static double
busy_for_a_while(const double at_s)
{
  return at_s < 40.0 || at_s > 100.0 ? 0.0 : ever_earlier_and_back(at_s - 40.0);
}

static double
earlier_for_a_second(const double at_s)
{
  return at_s > 30.0 && at_s < 31.2 ? -0.01 : 0.0;
}

/// A wander, and a drift.
static double
slowly_off_and_back(const double at_s)
{
  return 100e-6 * at_s + ever_earlier_and_back(at_s);
}

static double
by_a_slow_clock(const double at_s)
{
  return 100e-6 * at_s;
}

static double
by_a_quick_clock(const double at_s)
{
  return -100e-6 * at_s;
}

static double step_s;

static double
later_at_once(const double at_s)
{
  return at_s < 20.0 ? 0.0 : step_s;
}

/// Clicks are even though callbacks are not; only what lasts moves them.
static void
clicks_stay_even(void** const state)
{
  (void)state;
  double off_s = 0.0;
  assert_int_equal(count_jumps(now_and_then_earlier, 120.0, &off_s), 0);
  assert_int_equal(count_jumps(ever_earlier_and_back, 120.0, &off_s), 0);
  assert_int_equal(count_jumps(ever_later_and_back, 120.0, &off_s), 0);
  assert_int_equal(count_jumps(busy_for_a_while, 150.0, &off_s), 0);
  assert_int_equal(count_jumps(earlier_for_a_second, 80.0, &off_s), 0);
  // Two clocks that differ by 100 parts in a million: 60 ms in ten minutes
  const size_t slow = count_jumps(by_a_slow_clock, 600.0, &off_s);
  print_message("a slow clock: moved %zu times, %.1f ms off\n", slow, 1e3 * off_s);
  assert_true(slow >= 8 && slow <= 20);
  assert_true(fabs(off_s) < 0.0065);
  const size_t quick = count_jumps(by_a_quick_clock, 600.0, &off_s);
  print_message("a quick clock: moved %zu times, %.1f ms off\n", quick, 1e3 * off_s);
  assert_true(quick >= 8 && quick <= 20);
  assert_true(fabs(off_s) < 0.0065);
  const size_t both = count_jumps(slowly_off_and_back, 600.0, &off_s);
  print_message("a slow clock and a wander: moved %zu times, %.1f ms off\n", both, 1e3 * off_s);
  assert_true(both >= 8 && both <= 20);
  assert_true(fabs(off_s) < 0.0065 + 0.0125);
  static const double steps_s[] = {0.006, 0.01, 0.015, 0.019, 0.021, 0.05, -0.006, -0.019, -0.05};
  for (size_t i = 0; i < sizeof(steps_s) / sizeof(steps_s[0]); ++i) {
    step_s = steps_s[i];
    const size_t moved = count_jumps(later_at_once, 60.0, &off_s);
    print_message("%.0f ms at once: moved %zu times, %.1f ms off\n", 1e3 * step_s, moved,
                  1e3 * off_s);
    assert_int_equal(moved, 1);
    assert_true(fabs(off_s) < 0.0035);
  }
}

/// Both devices on threads of their own, as in life.
typedef struct {
  SrCallback callback;
  _Atomic uint64_t heard;
  _Atomic uint64_t put;
  _Atomic bool ending;
} Stage;

static void
breathe(void)
{
  const struct timespec nap = {0, 20000L};
  nanosleep(&nap, NULL);
}

static void*
hear_on(void* const context)
{
  Stage* const stage = (Stage*)context;
  float input[FRAMES];
  uint64_t came = 0;
  while (!atomic_load(&stage->ending)) {
    for (size_t i = 0; i < FRAMES; ++i) {
      input[i] = (float)((came + i) % TURN);
    }
    came += FRAMES;
    const PaStreamCallbackTimeInfo time = {0.0, 1000.0 + (double)came / RATE_HZ, 0.0};
    sr_callback_hear(input, NULL, FRAMES, &time, 0, &stage->callback);
    atomic_store(&stage->heard, came);
    breathe();
  }
  return NULL;
}

static void*
sound_on(void* const context)
{
  Stage* const stage = (Stage*)context;
  float output[FRAMES];
  uint64_t put = 0;
  while (!atomic_load(&stage->ending)) {
    const PaStreamCallbackTimeInfo time = {0.0, 1000.0 + (double)put / RATE_HZ, 0.0};
    sr_callback_sound(NULL, output, FRAMES, &time, 0, &stage->callback);
    put += FRAMES;
    atomic_store(&stage->put, put);
    breathe();
  }
  return NULL;
}

static void
three_threads_do_not_meet(void** const state)
{
  (void)state;
  Stage* const stage = (Stage*)calloc(1, sizeof(Stage));
  assert_non_null(stage);
  SrCallback* const callback = &stage->callback;
  assert_true(sr_callback_begin(callback, RATE_HZ, 1, 1, 0, 0.05, 0.05));
  pthread_t hearing;
  pthread_t sounding;
  assert_int_equal(pthread_create(&hearing, NULL, hear_on, stage), 0);
  assert_int_equal(pthread_create(&sounding, NULL, sound_on, stage), 0);
  static const float click[300];
  const SrClickPlan plan = {.plain = click, .plain_count = 300, .period = 1000.5, .volume = 1.0f};
  float samples[4000];
  uint64_t read = 0;
  uint64_t missing = 0;
  uint64_t wrong = 0;
  uint64_t begun = 0;
  uint64_t played = 0;
  // Frames, not seconds: until both went far enough.
  for (size_t turn = 0; read < 2000000 || atomic_load(&stage->put) < 500000; ++turn) {
    const size_t count = sr_callback_read(callback, samples, 1 + turn % 4000);
    for (size_t i = 0; i < count; ++i, ++read) {
      missing += isnan(samples[i]) ? 1 : 0;
      wrong += isnan(samples[i]) || samples[i] == (float)(read % TURN) ? 0 : 1;
    }
    uint64_t frame = 0;
    switch (turn % 50) {
    case 0:
      sr_clicker_start(&callback->clicker, &plan, RATE_HZ, NULL);
      break;
    case 40:
      begun += sr_clicker_began(&callback->clicker, &frame) ? 1 : 0;
      sr_clicker_stop(&callback->clicker);
      break;
    case 10:
    case 20:
      sr_callback_play(callback, click, 300);
      break;
    case 24:
      played += sr_callback_play_began(callback, &frame) ? 1 : 0;
      break;
    case 29:
      sr_callback_hush(callback);
      break;
    default:
      sr_clicker_volume(&callback->clicker, 0.5f);
      break;
    }
    // Now and then too late.
    for (size_t i = 0; i < (turn % 200 == 199 ? 100 : 1); ++i) {
      breathe();
    }
  }
  atomic_store(&stage->ending, true);
  pthread_join(hearing, NULL);
  pthread_join(sounding, NULL);
  assert_int_equal(wrong, 0);
  assert_true(begun > 0 && played > 0);
  assert_true(missing <= sr_callback_trouble(callback).lost);
  print_message("%u frames, %u of them lost\n", (unsigned)read, (unsigned)missing);
  sr_callback_end(callback);
  free(stage);
}

int
main(void)
{
#ifdef __SANITIZE_THREAD__
  // The others have one thread, and take ten times as long under it
  cmocka_set_test_filter("three_threads_do_not_meet");
#endif
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(clicks_fall_on_their_sample_for_an_hour),
      cmocka_unit_test(bars_count_in_and_fall_silent),
      cmocka_unit_test(long_clicks_overlap_and_are_limited),
      cmocka_unit_test(a_stopped_click_sounds_to_its_end),
      cmocka_unit_test(loudness_changes_from_the_next_click),
      cmocka_unit_test(wrong_plans_are_refused),
      cmocka_unit_test(what_is_given_is_played_once),
      cmocka_unit_test(without_room_what_was_lost_is_no_number),
      cmocka_unit_test(a_full_ring_loses_exactly_what_has_no_room),
      cmocka_unit_test(what_the_device_lost_is_reported_by_its_clock),
      cmocka_unit_test(what_nobody_reported_of_is_reported_by_the_clock),
      cmocka_unit_test(what_comes_late_is_not_lost),
      cmocka_unit_test(channels_are_chosen_or_averaged),
      cmocka_unit_test(after_an_underrun_clicks_are_back_in_place),
      cmocka_unit_test(a_clock_that_is_set_moves_no_click),
      cmocka_unit_test(clicks_stay_even),
      cmocka_unit_test(three_threads_do_not_meet),
  };
  return cmocka_run_group_tests_name("callback", tests, NULL, NULL);
}
