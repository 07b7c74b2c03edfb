// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_onset.c
   Where a sound began, from made courses of its activation: an amplitude of known course seen
   through Hann's window of 20 ms every 2 ms, as the frames see it.
*/

#include "hear/onset.h"

#include "hear/frame.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define FRAMES 120u
#define FRAME_MS (1000.0 * SR_FRAME_HOP_S)
#define WINDOW_MS (1000.0 * SR_FRAME_WINDOW_S)
/// Steps of the window's integral, ms.
#define STEP_MS 0.1

typedef enum { ABRUPT, LOGISTIC, EXPONENTIAL } Shape;

/// A sound that begins in what another left behind.
typedef struct {
  Shape shape;
  double start_ms; ///< Where its amplitude passes a quarter of its level
  double rise_ms;  ///< From a tenth to nine tenths
  double level;
  double before;  ///< Amplitude of what sounded before
  double tail_db; ///< How fast that dies away, dB for each frame
} Attack;

static double
amplitude(const Attack* const attack, const double at_ms)
{
  const double t = at_ms - attack->start_ms;
  if (attack->shape == ABRUPT) {
    return t >= 0.0 ? 1.0 : 0.0;
  }
  if (attack->shape == LOGISTIC) {
    // A quarter lies ln 3 of its time constant before the middle
    const double constant = attack->rise_ms / (2.0 * log(9.0));
    return 1.0 / (1.0 + exp(-t / constant + log(3.0)));
  }
  // 1 - exp(-t / constant) passes a quarter at ln(4 / 3)
  const double constant = attack->rise_ms / log(9.0);
  const double since = t + constant * log(4.0 / 3.0);
  return since > 0.0 ? 1.0 - exp(-since / constant) : 0.0;
}

/// The frames of it. Frame i lies about i * FRAME_MS.
static void
see(const Attack* const attack, float values[FRAMES])
{
  for (size_t i = 0; i < FRAMES; ++i) {
    const double centre_ms = FRAME_MS * (double)i;
    double sum = 0.0;
    double weights = 0.0;
    for (double at = STEP_MS / 2.0; at < WINDOW_MS; at += STEP_MS) {
      const double weight = 1.0 - cos(2.0 * M_PI * at / WINDOW_MS);
      sum += weight * amplitude(attack, centre_ms + at - WINDOW_MS / 2.0);
      weights += weight;
    }
    const double own = attack->level * sum / weights;
    // The two have no phase in common
    const double left =
        attack->before *
        pow(10.0, -attack->tail_db * fmax(0.0, (centre_ms - 40.0) / FRAME_MS) / 20.0);
    values[i] = (float)sqrt(own * own + left * left);
  }
}

/// The first frame that has half the most.
static size_t
noticed_at(const float values[FRAMES])
{
  float most = 0.0f;
  for (size_t i = 0; i < FRAMES; ++i) {
    most = fmaxf(most, values[i]);
  }
  size_t i = 0;
  while (values[i] < 0.5f * most) {
    ++i;
  }
  return i;
}

static SrRise
measure(const Attack attack)
{
  float values[FRAMES];
  see(&attack, values);
  size_t noticed = noticed_at(values);
  noticed = noticed < 2 ? (size_t)lround(attack.start_ms / FRAME_MS) + 4 : noticed;
  return sr_onset_measure(values, FRAMES, noticed, FRAME_MS);
}

/// Furthest that an onset lies from where it was, at eight places within a frame, ms.
static double
worst_ms(const Shape shape, const double rise_ms)
{
  double worst = 0.0;
  for (double part = 0.0; part < 1.0; part += 0.125) {
    const double start_ms = 80.0 + FRAME_MS * part;
    const SrRise rise = measure((Attack){shape, start_ms, rise_ms, 0.3, 0.0, 0.0});
    worst = fmax(worst, fabs(rise.onset * FRAME_MS - start_ms));
    assert_true(rise.base < 0.02);
    assert_true(rise.half >= rise.onset);
  }
  return worst;
}

static void
test_an_attack_is_placed_within_a_frame(void** const state)
{
  (void)state;
  assert_true(worst_ms(ABRUPT, 0.0) < 0.25 * FRAME_MS);
  for (Shape shape = LOGISTIC; shape <= EXPONENTIAL; ++shape) {
    for (double rise_ms = 5.0; rise_ms <= 30.0; rise_ms += 5.0) {
      const double worst = worst_ms(shape, rise_ms);
      print_message("%s, %.0f ms: off by %.2f ms at most\n",
                    shape == LOGISTIC ? "logistic" : "exponential", rise_ms, worst);
      assert_true(worst < FRAME_MS);
    }
  }
}

/// The level of a slower one is where its rise flattens, so that it reads early by some frames.
static void
test_a_slow_attack_is_not_far_off(void** const state)
{
  (void)state;
  for (Shape shape = LOGISTIC; shape <= EXPONENTIAL; ++shape) {
    assert_true(worst_ms(shape, 60.0) < 3.0 * FRAME_MS);
  }
}

/// It is reported where it is between two frames, too.
static void
test_a_shift_within_a_frame_is_followed(void** const state)
{
  (void)state;
  for (double part = 0.0; part < 1.0; part += 0.25) {
    const Attack first = {LOGISTIC, 80.0, 15.0, 0.3, 0.0, 0.0};
    Attack shifted = first;
    shifted.start_ms += FRAME_MS * part;
    const double moved = measure(shifted).onset - measure(first).onset;
    assert_true(fabs(moved - part) < 0.25);
  }
}

/// What sounded before is loud, dies away, and has no phase in common with the attack.
static void
test_the_tail_before_an_attack_is_taken_off(void** const state)
{
  (void)state;
  double worst = 0.0;
  for (double before = 0.02; before <= 0.11; before += 0.03) {
    for (double part = 0.0; part < 1.0; part += 0.25) {
      const double start_ms = 100.0 + FRAME_MS * part;
      const SrRise rise = measure((Attack){LOGISTIC, start_ms, 15.0, 0.3, before, 0.2});
      worst = fmax(worst, fabs(rise.onset * FRAME_MS - start_ms));
      assert_true(rise.base > before && rise.base < 1.2 * before / 0.3);
    }
  }
  print_message("out of a tail: off by %.2f ms at most\n", worst);
  assert_true(worst < FRAME_MS);
}

/// How loud it is does not matter.
static void
test_the_level_does_not_matter(void** const state)
{
  (void)state;
  const SrRise loud = measure((Attack){EXPONENTIAL, 90.7, 20.0, 0.5, 0.05, 0.3});
  const SrRise soft = measure((Attack){EXPONENTIAL, 90.7, 20.0, 0.0005, 0.00005, 0.3});
  assert_true(fabs(loud.onset - soft.onset) < 1e-3);
  assert_true(fabs(loud.half - soft.half) < 1e-3);
  assert_true(fabs(loud.base - soft.base) < 1e-3);
}

/// A wavering behind the attack is no new beginning, and what comes later does not move it.
static void
test_one_attack_has_one_onset(void** const state)
{
  (void)state;
  const Attack attack = {LOGISTIC, 80.0, 15.0, 0.3, 0.0, 0.0};
  float values[FRAMES];
  see(&attack, values);
  const size_t noticed = noticed_at(values);
  const double alone = sr_onset_measure(values, FRAMES, noticed, FRAME_MS).onset;
  for (size_t i = 60; i < FRAMES; ++i) {
    values[i] *= (float)(1.0 + 0.15 * sin(0.4 * (double)(i - 60)));
  }
  for (size_t later = 0; later < 40; ++later) {
    const double onset = sr_onset_measure(values, FRAMES, noticed + later, FRAME_MS).onset;
    assert_true(fabs(onset - alone) < 1.0);
  }
}

/// The room swells behind an attack: that is no part of it.
static void
test_a_swell_behind_an_attack_does_not_move_it(void** const state)
{
  (void)state;
  const Attack attack = {LOGISTIC, 80.0, 15.0, 0.3, 0.0, 0.0};
  float values[FRAMES];
  see(&attack, values);
  const size_t noticed = noticed_at(values);
  const double alone = sr_onset_measure(values, FRAMES, noticed, FRAME_MS).onset;
  for (size_t i = 55; i < FRAMES; ++i) {
    values[i] *= (float)(1.0 + 0.015 * (double)(i - 55));
  }
  assert_true(fabs(sr_onset_measure(values, FRAMES, noticed, FRAME_MS).onset - alone) < 0.5);
}

/// Of two attacks with a gap between them the later one is measured, from the gap on.
static void
test_a_second_attack_has_an_onset_of_its_own(void** const state)
{
  (void)state;
  const Attack first = {LOGISTIC, 60.0, 15.0, 0.3, 0.0, 0.0};
  const Attack second = {LOGISTIC, 160.0, 15.0, 0.3, 0.0, 0.0};
  float values[FRAMES];
  float later[FRAMES];
  see(&first, values);
  see(&second, later);
  for (size_t i = 0; i < FRAMES; ++i) {
    const double gone_db = 1.5 * fmax(0.0, (double)i - 60.0);
    const double before = (double)values[i] * pow(10.0, -gone_db / 20.0);
    values[i] = (float)sqrt(before * before + (double)(later[i] * later[i]));
  }
  const SrRise rise = sr_onset_measure(values, FRAMES, noticed_at(later), FRAME_MS);
  assert_true(fabs(rise.onset * FRAME_MS - second.start_ms) < FRAME_MS);
  assert_true(rise.base > 0.02 && rise.base < 0.2);
}

/// What was there all along did not rise: all of its level is base.
static void
test_a_steady_tone_has_none(void** const state)
{
  (void)state;
  float values[FRAMES];
  for (size_t i = 0; i < FRAMES; ++i) {
    values[i] = 0.3f;
  }
  const SrRise steady = sr_onset_measure(values, FRAMES, 50, FRAME_MS);
  assert_true(steady.base > 0.999);
  assert_true(steady.onset >= 50.0 && steady.onset <= 60.0);
  for (size_t i = 0; i < FRAMES; ++i) {
    values[i] = (float)(0.3 * (1.0 + 0.03 * sin(0.5 * (double)i)));
  }
  assert_true(sr_onset_measure(values, FRAMES, 50, FRAME_MS).base > 0.9);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_an_attack_is_placed_within_a_frame),
      cmocka_unit_test(test_a_slow_attack_is_not_far_off),
      cmocka_unit_test(test_a_shift_within_a_frame_is_followed),
      cmocka_unit_test(test_the_tail_before_an_attack_is_taken_off),
      cmocka_unit_test(test_the_level_does_not_matter),
      cmocka_unit_test(test_one_attack_has_one_onset),
      cmocka_unit_test(test_a_swell_behind_an_attack_does_not_move_it),
      cmocka_unit_test(test_a_second_attack_has_an_onset_of_its_own),
      cmocka_unit_test(test_a_steady_tone_has_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
