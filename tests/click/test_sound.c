// SPDX-License-Identifier: GPL-3.0-or-later

// What the click sounds like, and that a filter made for it finds it and nothing else.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/sound.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST 12000u

typedef struct {
  float samples[MOST];
  size_t count;
  double rate_hz;
} Click;

static const double rates[] = {16000.0, 22050.0, 44100.0, 48000.0, 96000.0, 192000.0};
#define RATES (sizeof(rates) / sizeof(rates[0]))

static void
make(Click* const click, const double rate_hz, const bool accent)
{
  memset(click, 0, sizeof(*click));
  click->rate_hz = rate_hz;
  click->count = sr_sound_click(rate_hz, accent, click->samples, MOST);
  assert_true(click->count > 0 && click->count < MOST);
}

/// Power from one frequency to another by direct transform, any unit.
static double
power(const Click* const click, const double from_hz, const double to_hz)
{
  double sum = 0.0;
  for (unsigned k = 0; from_hz + 25.0 + 50.0 * k < to_hz; ++k) {
    const double hz = from_hz + 25.0 + 50.0 * k;
    double re = 0.0;
    double im = 0.0;
    for (size_t i = 0; i < click->count; ++i) {
      const double angle = 2.0 * M_PI * hz * (double)i / click->rate_hz;
      re += (double)click->samples[i] * cos(angle);
      im += (double)click->samples[i] * sin(angle);
    }
    sum += re * re + im * im;
  }
  return sum;
}

/// Largest magnitude of the normalised correlation of two sounds at shifts over `least_s`.
static double
likeness(const Click* const a, const Click* const b, const double least_s)
{
  double energy[2] = {0.0, 0.0};
  for (size_t i = 0; i < MOST; ++i) {
    energy[0] += (double)(a->samples[i] * a->samples[i]);
    energy[1] += (double)(b->samples[i] * b->samples[i]);
  }
  double most = 0.0;
  for (long shift = -(long)b->count; shift < (long)a->count; ++shift) {
    if (fabs((double)shift) < least_s * a->rate_hz) {
      continue;
    }
    double sum = 0.0;
    for (long i = 0; i < (long)b->count; ++i) {
      const long j = i + shift;
      sum += j >= 0 && j < (long)a->count ? (double)(a->samples[j] * b->samples[i]) : 0.0;
    }
    most = fmax(most, fabs(sum) / sqrt(energy[0] * energy[1]));
  }
  return most;
}

static void
short_and_not_loud(void** const state)
{
  (void)state;
  for (size_t r = 0; r < RATES; ++r) {
    for (int accent = 0; accent < 2; ++accent) {
      Click click;
      make(&click, rates[r], accent);
      assert_int_equal(sr_sound_click(rates[r], accent, NULL, 0), click.count);
      assert_true((double)click.count <= 0.06 * rates[r]);
      float most = 0.0f;
      for (size_t i = 0; i < click.count; ++i) {
        most = fmaxf(most, fabsf(click.samples[i]));
      }
      assert_true(most > 0.4f && most <= 0.5f);
      // Nothing is cut off at either end
      assert_true(fabsf(click.samples[0]) < 0.01f);
      assert_true(fabsf(click.samples[click.count - 1]) < 0.01f);
      float part[10];
      assert_int_equal(sr_sound_click(rates[r], accent, part, 10), 10);
      assert_memory_equal(part, click.samples, sizeof(part));
    }
  }
}

static void
broad_band(void** const state)
{
  (void)state;
  for (size_t r = 0; r < RATES; ++r) {
    Click plain;
    Click accent;
    make(&plain, rates[r], false);
    make(&accent, rates[r], true);
    const double plain_all = power(&plain, 0.0, 8000.0);
    const double accent_all = power(&accent, 0.0, 8000.0);
    assert_true(power(&plain, 1000.0, 6500.0) > 0.95 * plain_all);
    assert_true(power(&accent, 1500.0, 7800.0) > 0.95 * accent_all);
    // Each octave of the band has its share
    printf("%6.0f Hz: plain, over 3 kHz %.2f; accent %.2f\n", rates[r],
           power(&plain, 3000.0, 8000.0) / plain_all, power(&accent, 3000.0, 8000.0) / accent_all);
    assert_true(power(&plain, 1500.0, 3000.0) > 0.25 * plain_all);
    assert_true(power(&plain, 3000.0, 6000.0) > 0.25 * plain_all);
    // … and the accent is the brighter one
    assert_true(power(&accent, 3000.0, 8000.0) / accent_all >
                1.3 * power(&plain, 3000.0, 8000.0) / plain_all);
  }
}

static void
unlike_itself_shifted(void** const state)
{
  (void)state;
  for (size_t r = 0; r < RATES; ++r) {
    Click plain;
    Click accent;
    make(&plain, rates[r], false);
    make(&accent, rates[r], true);
    const double own = likeness(&plain, &plain, 0.0004);
    const double accents = likeness(&accent, &accent, 0.0004);
    const double other = likeness(&plain, &accent, 0.0);
    printf("%6.0f Hz: like itself shifted %.2f, %.2f with accent, one like the other %.2f\n",
           rates[r], own, accents, other);
    assert_true(own < 0.2);
    assert_true(accents < 0.2);
    assert_true(other < 0.3);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(short_and_not_loud),
      cmocka_unit_test(broad_band),
      cmocka_unit_test(unlike_itself_shifted),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
