// SPDX-License-Identifier: GPL-3.0-or-later

// The outline of a recording against its own samples, and passing over samples.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"

#include <steadyreed/audio.h>
#include <steadyreed/take_outline.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define RATE 44100u
/// Not a whole number of pieces.
#define COUNT (7u * RATE + 123u)

static char* folder;
static float* samples;
static size_t given;

/// cmocka's own comparison is of floats.
static void
expect_near(const double value, const double expected, const double within)
{
  if (!(fabs(value - expected) <= within)) {
    fail_msg("%.9g is not within %g of %.9g", value, within, expected);
  }
}

/// Noise from a linear congruential generator (Knuth, "Seminumerical Algorithms", 3.3.4, line 26)
/// whose level rises and falls, with a pause.
static void
make_samples(void)
{
  uint32_t state = 1;
  for (size_t i = 0; i < COUNT; ++i) {
    const double at_s = (double)i / RATE;
    const double level = at_s > 3.0 && at_s < 3.2 ? 0.0 : 0.1 + 0.08 * sin(5.0 * at_s);
    state = state * 1664525u + 1013904223u;
    samples[i] = (float)(level * ((double)state / 2147483648.0 - 1.0));
  }
}

static size_t
give(void* const context, float* const to, const size_t count)
{
  (void)context;
  size_t done = 0;
  while (done < count && given < COUNT) {
    to[done++] = samples[given++];
  }
  return done;
}

static char*
write_take(const char* const name)
{
  char* const path = folder_path(folder, name);
  given = 0;
  assert_int_equal(sr_audio_write(path, RATE, SR_SAMPLES_24_BIT, give, NULL, NULL), SR_OK);
  return path;
}

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  samples = malloc(COUNT * sizeof(float));
  make_samples();
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(folder);
  free(samples);
  return 0;
}

/// Largest sample of the pieces that a stretch touches, counted one by one.
static double
counted_peak(const double from_s, const double to_s)
{
  const size_t piece = (size_t)lround(RATE / SR_TAKE_OUTLINE_PER_S);
  const double piece_s = (double)piece / RATE;
  double peak = 0.0;
  for (size_t i = 0; i < COUNT; ++i) {
    const double starts_s = (double)(i / piece) * piece_s;
    if (starts_s < to_s && starts_s + piece_s > from_s) {
      peak = fmax(peak, fabs((double)samples[i]));
    }
  }
  return peak;
}

static void
peaks_are_those_of_the_samples(void** const state)
{
  (void)state;
  char* const path = write_take("take.flac");
  SrTakeOutline* outline = NULL;
  assert_int_equal(sr_take_outline_new(path, NULL, NULL, &outline, NULL), SR_OK);
  expect_near(sr_take_outline_seconds(outline), (double)COUNT / RATE, 1e-9);
  // Middles of pieces, so that rounding decides nothing
  static const double stretches[][2] = {{0.0012, 6.9987}, {1.0012, 1.0015}, {2.5012, 3.4512},
                                        {3.0512, 3.1512}, {6.9912, 99.0},   {-5.0, 0.0212}};
  for (size_t i = 0; i < sizeof(stretches) / sizeof(stretches[0]); ++i) {
    const double from_s = stretches[i][0];
    const double to_s = stretches[i][1];
    expect_near(sr_take_outline_peak(outline, from_s, to_s), counted_peak(from_s, to_s), 1e-6);
  }
  for (size_t i = 0; i < 40; ++i) {
    const double from_s = 0.0137 * (double)(i * i % 37);
    const double to_s = from_s + 0.0031 * (double)(i * i);
    expect_near(sr_take_outline_peak(outline, from_s, to_s), counted_peak(from_s, to_s), 1e-6);
  }
  assert_true(sr_take_outline_peak(outline, 8.0, 9.0) <= 0.0);
  assert_true(sr_take_outline_peak(outline, 2.0, 1.0) <= 0.0);
  assert_true(sr_take_outline_peak(outline, NAN, NAN) <= 0.0);
  sr_take_outline_del(outline);
  free(path);
}

static void
a_pause_is_found_near_it_only(void** const state)
{
  (void)state;
  char* const path = write_take("pause.flac");
  SrTakeOutline* outline = NULL;
  assert_int_equal(sr_take_outline_new(path, NULL, NULL, &outline, NULL), SR_OK);
  const double quiet_s = sr_take_outline_quiet(outline, 2.95, 0.1);
  assert_true(quiet_s > 3.0 && quiet_s < 3.02);
  expect_near(sr_take_outline_quiet(outline, 3.1, 0.5), 3.1, 0.006);
  expect_near(sr_take_outline_quiet(outline, 2.0, 0.1), 2.0, 0.0);
  expect_near(sr_take_outline_first_sound(outline), 0.0, 0.0);
  sr_take_outline_del(outline);
  free(path);
}

static bool
stop_at_once(void* const asked)
{
  ++*(unsigned*)asked;
  return true;
}

static void
what_is_no_recording_is_refused(void** const state)
{
  (void)state;
  SrTakeOutline* outline = NULL;
  SrError error = {0};
  unsigned asked = 0;
  char* const text = folder_path(folder, "text.wav");
  file_put(text, "no sound");
  assert_int_equal(sr_take_outline_new(text, NULL, NULL, &outline, &error), SR_BAD_AUDIO);
  assert_null(outline);
  assert_true(error.message[0] != '\0');
  assert_int_equal(sr_take_outline_new("/nowhere/at-all.wav", NULL, NULL, &outline, &error),
                   SR_NOT_FOUND);
  char* const path = write_take("stopped.wav");
  // Stopped before the first sample there is nothing to show
  assert_int_equal(sr_take_outline_new(path, stop_at_once, &asked, &outline, &error), SR_BAD_AUDIO);
  assert_int_equal(asked, 1);
  free(path);
  free(text);
}

/// After passing over samples the next ones are those that reading would have given.
static void
skipping_is_like_reading(void** const state)
{
  (void)state;
  static const char* const names[] = {"skip.wav", "skip.flac"};
  static const size_t skips[] = {0, 1, 4095, 100000, COUNT - 5, COUNT + 5};
  for (size_t n = 0; n < 2; ++n) {
    char* const path = write_take(names[n]);
    for (size_t i = 0; i < sizeof(skips) / sizeof(skips[0]); ++i) {
      SrTakeReader* reader = NULL;
      float next[4] = {0};
      assert_int_equal(sr_take_reader_new(path, &reader, NULL), SR_OK);
      const size_t passed = sr_take_reader_skip(reader, skips[i]);
      assert_int_equal(passed, skips[i] < COUNT ? skips[i] : COUNT);
      const size_t got = sr_take_reader_read(reader, next, 4);
      assert_int_equal(got, skips[i] < COUNT ? 4 : 0);
      for (size_t k = 0; k < got; ++k) {
        expect_near((double)next[k], (double)samples[skips[i] + k], 1e-6);
      }
      expect_near(sr_take_reader_reading(reader).seconds, (double)(passed + got) / RATE, 1e-9);
      sr_take_reader_del(reader);
    }
    free(path);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(peaks_are_those_of_the_samples),
      cmocka_unit_test(a_pause_is_found_near_it_only),
      cmocka_unit_test(what_is_no_recording_is_refused),
      cmocka_unit_test(skipping_is_like_reading),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
