// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_activation.c
   Activations of known templates: a spectrum that is made of them gives them back, and no update
   raises the generalised Kullback-Leibler divergence (Lee and Seung 2001, theorem 2).
*/

#include "hear/activation.h"

#include "hear/simd.h"

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

#define RATE_HZ 16000.0
/// Frames after which activations that start from nothing have settled.
#define SETTLED 50

typedef struct {
  SrFrameGrid grid;
  SrProfile* profile;
  SrActivation* activation;
  float* magnitudes;
  float* floor;
} Solver;

static size_t
pitch_of(const int midi)
{
  return (size_t)(midi - SR_LOWEST_MIDI);
}

static int
open_solver(void** const state)
{
  Solver* const s = (Solver*)calloc(1, sizeof(Solver));
  assert_non_null(s);
  s->grid = sr_frame_grid(RATE_HZ);
  s->profile = sr_profile_new(440.0);
  assert_non_null(s->profile);
  s->activation = sr_activation_new(s->profile, &s->grid, NULL);
  s->magnitudes = sr_vector_new(s->grid.padded);
  s->floor = sr_vector_new(s->grid.padded);
  assert_true(s->activation && s->magnitudes && s->floor);
  sr_profile_floor(s->profile, &s->grid, s->floor);
  *state = s;
  return 0;
}

static int
close_solver(void** const state)
{
  Solver* const s = (Solver*)*state;
  sr_activation_del(s->activation);
  sr_profile_del(s->profile);
  free(s->magnitudes);
  free(s->floor);
  free(s);
  return 0;
}

/// Make the frame the room's floor and so much of each reed.
static void
compose(Solver* const s, const int* const midi, const double* const amounts, const size_t count)
{
  memset(s->magnitudes, 0, s->grid.padded * sizeof(float));
  memcpy(s->magnitudes, s->floor, s->grid.bins * sizeof(float));
  for (size_t i = 0; i < count; ++i) {
    const float* const row = sr_activation_template(s->activation, pitch_of(midi[i]));
    for (size_t b = 0; b < s->grid.bins; ++b) {
      s->magnitudes[b] += (float)amounts[i] * row[b];
    }
  }
}

static SrActivationFrame
settle(Solver* const s)
{
  SrActivationFrame frame;
  for (int i = 0; i < SETTLED; ++i) {
    sr_activation_do(s->activation, s->magnitudes, &frame);
  }
  return frame;
}

static double
amount_of(const SrActivationFrame* const frame, const int midi)
{
  double amount = 0.0;
  for (size_t i = 0; i < frame->count; ++i) {
    amount += frame->pitch[i] == pitch_of(midi) ? (double)frame->amount[i] : 0.0;
  }
  return amount;
}

static void
test_what_a_frame_is_made_of_comes_out(void** const state)
{
  Solver* const s = (Solver*)*state;
  static const struct {
    size_t count;
    int midi[3];
    double amount[3];
  } frames[] = {
      {1, {69, 0, 0}, {0.4, 0, 0}},        // a note
      {1, {50, 0, 0}, {0.02, 0, 0}},       // a low and soft one
      {2, {74, 78, 0}, {0.4, 0.1, 0}},     // a third
      {2, {69, 70, 0}, {0.3, 0.3, 0}},     // a semitone
      {2, {69, 81, 0}, {0.3, 0.3, 0}},     // an octave, whose harmonics all coincide
      {3, {62, 66, 69}, {0.2, 0.25, 0.3}}, // a chord
  };
  for (size_t i = 0; i < sizeof(frames) / sizeof(frames[0]); ++i) {
    compose(s, frames[i].midi, frames[i].amount, frames[i].count);
    const SrActivationFrame frame = settle(s);
    for (size_t k = 0; k < frames[i].count; ++k) {
      const double amount = amount_of(&frame, frames[i].midi[k]);
      if (!(fabs(amount - frames[i].amount[k]) < 0.03 * frames[i].amount[k])) {
        fail_msg("frame %zu: %.4f of note %d, not %.4f", i, amount, frames[i].midi[k],
                 frames[i].amount[k]);
      }
    }
    assert_int_equal(frame.count, frames[i].count);
    assert_true(frame.noise[0] + frame.noise[1] < 0.03f * frame.total);
    assert_true(frame.misfit < 5e-3f);
  }
}

/// What is over the floor and has no harmonics is noise, no reed.
static void
test_what_is_flat_is_noise(void** const state)
{
  Solver* const s = (Solver*)*state;
  compose(s, NULL, NULL, 0);
  for (size_t b = 0; b < s->grid.bins; ++b) {
    s->magnitudes[b] += 0.5f / (float)s->grid.bins;
  }
  const SrActivationFrame frame = settle(s);
  assert_int_equal(frame.count, 0);
  assert_true(fabs((double)frame.noise[0] - 0.5) < 0.01);
  assert_true(frame.noise[1] < 0.01f);
}

/// A note that stops is dropped, and nothing is left or comes up.
static void
test_zeros_give_zeros(void** const state)
{
  Solver* const s = (Solver*)*state;
  compose(s, (int[]){69}, (double[]){0.4}, 1);
  assert_int_equal(settle(s).count, 1);
  memset(s->magnitudes, 0, s->grid.padded * sizeof(float));
  const SrActivationFrame frame = settle(s);
  assert_int_equal(frame.count, 0);
  assert_true(frame.noise[0] >= 0.0f && frame.noise[0] < 1e-8f);
  assert_true(frame.noise[1] >= 0.0f && frame.noise[1] < 1e-8f);
  assert_true(fabs((double)frame.total) <= 0.0);
  assert_true(fabs((double)frame.misfit) <= 0.0);
}

/// The generalised Kullback-Leibler divergence of the frame from what a solution says it is.
static double
divergence(const Solver* const s, const SrActivationFrame* const frame)
{
  double low_sum = 0.0;
  for (size_t b = 0; b < s->grid.bins; ++b) {
    const double octaves = (double)(s->grid.first_bin + b) * s->grid.bin_hz / 500.0;
    low_sum += 1.0 / (1.0 + octaves * octaves);
  }
  double sum = 0.0;
  for (size_t b = 0; b < s->grid.bins; ++b) {
    const double octaves = (double)(s->grid.first_bin + b) * s->grid.bin_hz / 500.0;
    double model = (double)s->floor[b] + (double)frame->noise[0] / (double)s->grid.bins +
                   (double)frame->noise[1] / (1.0 + octaves * octaves) / low_sum;
    for (size_t i = 0; i < frame->count; ++i) {
      model +=
          (double)(frame->amount[i] * sr_activation_template(s->activation, frame->pitch[i])[b]);
    }
    const double value = (double)s->magnitudes[b];
    sum += value > 0.0 ? value * log(value / model) - value + model : model;
  }
  return sum;
}

/// From a third to three times as much of each, and from frames that are not made of templates
/// alone.
static void
test_no_update_raises_the_divergence(void** const state)
{
  Solver* const s = (Solver*)*state;
  static const int midi[] = {62, 69, 74, 81};
  const size_t count = sizeof(midi) / sizeof(midi[0]);
  Random random = {1};
  for (int trial = 0; trial < 200; ++trial) {
    double amounts[4];
    float start[4];
    size_t rows[4];
    double total = 0.0;
    for (size_t i = 0; i < count; ++i) {
      amounts[i] = pow(10.0, random_between(&random, -2.0, 0.0));
      start[i] = (float)(amounts[i] * pow(10.0, random_between(&random, -1.0, 0.5)));
      rows[i] = pitch_of(midi[i]);
      total += amounts[i];
    }
    compose(s, midi, amounts, count);
    for (size_t b = 0; b < s->grid.bins; ++b) {
      s->magnitudes[b] *= (float)random_between(&random, 0.5, 1.5);
    }
    sr_activation_hold(s->activation, rows, start, count);
    sr_activation_forget(s->activation, (float)(0.01 * total));
    SrActivationFrame frame;
    sr_activation_refine(s->activation, s->magnitudes, 0, &frame);
    double before = divergence(s, &frame);
    const double first = before;
    for (int i = 0; i < 30; ++i) {
      sr_activation_refine(s->activation, s->magnitudes, 1, &frame);
      const double now = divergence(s, &frame);
      if (!(now <= before + 1e-5 * total)) {
        fail_msg("trial %d, update %d: from %.7f to %.7f", trial, i, before, now);
      }
      before = now;
    }
    assert_true(before < first);
  }
}

/// At the least divergence no activation asks for a change: Lee and Seung's fixed point.
static void
test_a_solution_stays(void** const state)
{
  Solver* const s = (Solver*)*state;
  static const int midi[] = {62, 69, 74};
  static const double amounts[] = {0.2, 0.3, 0.4};
  compose(s, midi, amounts, 3);
  const size_t rows[] = {pitch_of(62), pitch_of(69), pitch_of(74)};
  const float start[] = {0.2f, 0.3f, 0.4f};
  sr_activation_hold(s->activation, rows, start, 3);
  sr_activation_forget(s->activation, 0.0f);
  SrActivationFrame frame;
  sr_activation_refine(s->activation, s->magnitudes, 1, &frame);
  for (size_t i = 0; i < 3; ++i) {
    assert_true(fabs((double)frame.amount[i] - amounts[i]) < 2e-3 * amounts[i]);
  }
}

/// Reeds of a later frame are let in with a trace, those of the earlier one as they were.
static void
test_a_restart_holds_the_reeds_of_both_frames(void** const state)
{
  Solver* const s = (Solver*)*state;
  compose(s, (int[]){69}, (double[]){0.4}, 1);
  const SrActivationFrame earlier = settle(s);
  compose(s, (int[]){76}, (double[]){0.3}, 1);
  const SrActivationFrame later = settle(s);
  assert_int_equal(later.count, 1);
  sr_activation_restart(s->activation, &earlier, &later);
  SrActivationFrame frame;
  sr_activation_refine(s->activation, s->magnitudes, 0, &frame);
  assert_int_equal(frame.count, 2);
  assert_true(fabs(amount_of(&frame, 69) - amount_of(&earlier, 69)) < 1e-6);
  assert_true(amount_of(&frame, 76) > 0.0);
  assert_true(amount_of(&frame, 76) < amount_of(&later, 76));
  for (int i = 0; i < SETTLED; ++i) {
    sr_activation_refine(s->activation, s->magnitudes, SR_REFINE_UPDATES, &frame);
  }
  assert_true(fabs(amount_of(&frame, 76) - 0.3) < 0.01);
  assert_true(amount_of(&frame, 69) < 0.001);
}

/// The parts of a template come out of a frame that holds it whole, each with its share.
static void
test_the_parts_of_a_template_make_it_up(void** const state)
{
  Solver* const s = (Solver*)*state;
  compose(s, (int[]){69}, (double[]){0.4}, 1);
  const float* const whole = sr_activation_template(s->activation, pitch_of(69));
  size_t rows[SR_PARTS];
  sr_activation_split(s->activation, pitch_of(69), rows);
  double shares[SR_PARTS] = {0.0};
  for (size_t b = 0; b < s->grid.bins; ++b) {
    size_t mine = 0;
    for (size_t part = 0; part < SR_PARTS; ++part) {
      const bool in = sr_activation_template(s->activation, rows[part])[b] > 0.0f;
      mine += in ? 1 : 0;
      shares[part] += in ? (double)whole[b] : 0.0;
    }
    assert_int_equal(mine, whole[b] > 0.0f ? 1 : 0);
  }
  const float start[SR_PARTS] = {0.1f, 0.1f, 0.1f, 0.1f};
  sr_activation_hold(s->activation, rows, start, SR_PARTS);
  sr_activation_forget(s->activation, 0.0f);
  SrActivationFrame frame;
  for (int i = 0; i < SETTLED; ++i) {
    sr_activation_refine(s->activation, s->magnitudes, SR_REFINE_UPDATES, &frame);
  }
  for (size_t part = 0; part < SR_PARTS; ++part) {
    assert_true(shares[part] > 0.02);
    assert_true(fabs((double)frame.amount[part] - 0.4 * shares[part]) < 0.01 * 0.4);
  }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, open_solver, close_solver)

int
main(void)
{
  const struct CMUnitTest tests[] = {
      TEST(test_what_a_frame_is_made_of_comes_out),
      TEST(test_what_is_flat_is_noise),
      TEST(test_zeros_give_zeros),
      TEST(test_no_update_raises_the_divergence),
      TEST(test_a_solution_stays),
      TEST(test_a_restart_holds_the_reeds_of_both_frames),
      TEST(test_the_parts_of_a_template_make_it_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
