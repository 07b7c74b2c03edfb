// SPDX-License-Identifier: GPL-3.0-or-later

// The ready note, on pitch tracks of sounds made for it.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "session/ready_note.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ 44100.0
#define PI 3.14159265358979323846
#define READY 62 // D

static float sound[20 * 44100];

static int
begin(void** const state)
{
  (void)state;
  srand(5);
  for (size_t i = 0; i < sizeof(sound) / sizeof(sound[0]); ++i) {
    sound[i] = 1e-3f * ((float)rand() / (float)RAND_MAX - 0.5f);
  }
  return 0;
}

/// Add a note of eight harmonics, at a level of its fundamental; its pitch glides by so many cents
/// up and down five times a second.
static void
add(const double midi, const double from_s, const double to_s, const double level,
    const double glide_cents)
{
  double phase = 0.0;
  for (size_t i = (size_t)(from_s * RATE_HZ); i < (size_t)(to_s * RATE_HZ); ++i) {
    const double at_s = (double)i / RATE_HZ;
    const double cents = glide_cents * sin(2.0 * PI * 5.0 * at_s);
    phase += 2.0 * PI * 440.0 * exp2((midi - 69.0) / 12.0 + cents / 1200.0) / RATE_HZ;
    const double ramp = fmin(1.0, fmin(at_s - from_s, to_s - at_s) / 0.02);
    for (int h = 1; h <= 8; ++h) {
      sound[i] += (float)(ramp * level * sin(h * phase) / h);
    }
  }
}

/// Onset of the first ready note in the sound, and when it was known; NAN without one.
static double
find(const double rest_s, double* const known_s)
{
  SrReadyNote ready = sr_ready_note(READY, 440.0, 2.0, rest_s);
  SrPitchTrack* track = NULL;
  assert_int_equal(sr_pitch_track_new(RATE_HZ, &track, NULL), SR_OK);
  double onset_s = (double)NAN;
  const size_t count = sizeof(sound) / sizeof(sound[0]);
  for (size_t at = 0; at < count && !isfinite(onset_s);) {
    at += sr_pitch_track_push(track, sound + at, count - at);
    SrPitchPoint point;
    if (sr_pitch_track_pull(track, &point)) {
      onset_s = sr_ready_note_push(&ready, &point);
      *known_s = point.at_s;
    }
  }
  sr_pitch_track_del(track);
  return onset_s;
}

static void
assert_found(const double rest_s, const double from_s, const double to_s)
{
  double known_s = 0.0;
  const double onset_s = find(rest_s, &known_s);
  if (!(fabs(onset_s - from_s) < 0.06 && known_s > to_s + 0.3 + rest_s &&
        known_s < to_s + 0.6 + rest_s)) {
    fail_msg("from %.2f s to %.2f s: found %.3f s at %.3f s", from_s, to_s, onset_s, known_s);
  }
}

static void
assert_none(void)
{
  double known_s = 0.0;
  const double onset_s = find(0.0, &known_s);
  if (isfinite(onset_s)) {
    fail_msg("found %.3f s at %.3f s", onset_s, known_s);
  }
}

/// In every octave of the instrument, a little off its pitch, soft and loud.
static void
in_any_octave(void** const state)
{
  for (int midi = READY - 12; midi <= READY + 36; midi += 12) {
    for (double off = -0.45; off < 0.5; off += 0.45) {
      begin(state);
      add(midi + off, 1.0, 1.7, off < 0.0 ? 0.01 : 0.2, 0.0);
      assert_found(0.0, 1.0, 1.7);
    }
  }
}

static void
as_long_as_it_must(void** const state)
{
  static const double lengths[] = {0.6, 1.0, 1.5, 1.9};
  for (size_t i = 0; i < sizeof(lengths) / sizeof(lengths[0]); ++i) {
    begin(state);
    add(READY, 2.0, 2.0 + lengths[i], 0.1, 0.0);
    assert_found(0.0, 2.0, 2.0 + lengths[i]);
  }
}

/// Too short, so long that it is the low-note signal, another note, a chord, a voice.
static void
what_is_none(void** const state)
{
  add(READY, 1.0, 1.35, 0.1, 0.0);
  assert_none();
  begin(state);
  add(READY, 1.0, 3.1, 0.1, 0.0);
  assert_none();
  for (int off = 1; off <= 11; ++off) {
    begin(state);
    add(READY + off, 1.0, 2.0, 0.1, 0.0);
    assert_none();
  }
  begin(state);
  add(READY, 1.0, 2.0, 0.1, 60.0);
  assert_none();
}

/// The first note of a phrase, which the second follows; where a rest is written, after that rest.
static void
the_phrase_itself(void** const state)
{
  (void)state;
  add(READY, 1.0, 1.7, 0.1, 0.0);
  add(READY + 2, 1.75, 2.4, 0.1, 0.0);
  add(READY, 2.5, 3.2, 0.1, 0.0);
  add(READY + 4, 3.5, 4.5, 0.1, 0.0);
  assert_none();
  // As often as it likes
  begin(state);
  for (int i = 0; i < 8; ++i) {
    add(READY, 1.0 + i, 1.8 + i, 0.1, 0.0);
  }
  assert_found(0.0, 8.0, 8.8);
  begin(state);
  add(READY, 1.0, 1.8, 0.1, 0.0);
  add(READY + 2, 2.6, 3.4, 0.1, 0.0);
  double known_s;
  assert_true(!isfinite(find(1.0, &known_s)));
  assert_found(0.0, 1.0, 1.8);
  begin(state);
  add(READY, 1.0, 1.8, 0.1, 0.0);
  assert_found(1.0, 1.0, 1.8);
}

/// Behind other playing, also if it is much softer than that; with a hum under it.
static void
behind_other_playing(void** const state)
{
  (void)state;
  for (int i = 0; i < 10; ++i) {
    add(READY + i % 5, 1.0 + 0.2 * i, 1.19 + 0.2 * i, 0.25, 0.0);
  }
  add(READY, 5.0, 5.8, 0.012, 0.0);
  assert_found(0.0, 5.0, 5.8);
  begin(state);
  add(READY - 36, 0.0, 19.0, 0.002, 0.0);
  add(READY, 5.0, 5.8, 0.1, 0.0);
  assert_found(0.0, 5.0, 5.8);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(in_any_octave, begin),
      cmocka_unit_test_setup(as_long_as_it_must, begin),
      cmocka_unit_test_setup(what_is_none, begin),
      cmocka_unit_test_setup(the_phrase_itself, begin),
      cmocka_unit_test_setup(behind_other_playing, begin),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
