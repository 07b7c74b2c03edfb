// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_steady_partials.c
   A reed is found soon after its note begins, alone and under a voice as loud; a voice, the
   program's own tones, a click and a soft hum are not taken for one.
*/

#include "hear/steady_partials.h"

#include <steadyreed/sound.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <sndfile.h>

#include <stdio.h>
#include <unistd.h>

#define PI 3.14159265358979323846
#define CHUNK 441u

/// Sound under construction.
typedef struct {
  double rate_hz;
  size_t count;
  float* samples;
} Sound;

static Sound
silence(const double rate_hz, const double seconds)
{
  Sound sound = {.rate_hz = rate_hz, .count = (size_t)(rate_hz * seconds)};
  sound.samples = (float*)calloc(sound.count, sizeof(float));
  assert_non_null(sound.samples);
  return sound;
}

/// A reed from a moment on: harmonics that fall by 3 dB each.
static void
add_reed(const Sound* const sound, const double from_s, const double f0_hz, const double peak)
{
  for (size_t i = (size_t)(from_s * sound->rate_hz); i < sound->count; ++i) {
    const double at_s = (double)i / sound->rate_hz - from_s;
    const double rise = fmin(1.0, at_s / 0.02);
    double sum = 0.0;
    for (int h = 1; h <= 10 && h * f0_hz < 0.45 * sound->rate_hz; ++h) {
      sum += pow(10.0, -0.15 * (h - 1)) * sin(2.0 * PI * h * f0_hz * at_s + h);
    }
    sound->samples[i] += (float)(peak * rise * 0.4 * sum);
  }
}

/// A voice: syllables whose pitch glides by 2.5 semitones, with two formants that move.
static void
add_voice(const Sound* const sound, const double f0_hz, const double peak)
{
  double phase = 0.0;
  for (size_t i = 0; i < sound->count; ++i) {
    const double at_s = (double)i / sound->rate_hz;
    const double part = fmod(at_s, 0.23) / 0.23;
    const double glide = sin(2.0 * PI * 0.9 * at_s) + 2.5 * (0.5 - part);
    const double pitch_hz = f0_hz * pow(2.0, glide / 12.0);
    phase += 2.0 * PI * pitch_hz / sound->rate_hz;
    double sum = 0.0;
    for (int h = 1; h <= 25; ++h) {
      const double f = h * pitch_hz;
      const double first = (f - 550.0 - 250.0 * sin(2.0 * PI * 2.1 * at_s)) / 150.0;
      const double second = (f - 1500.0 - 500.0 * sin(2.0 * PI * 1.7 * at_s)) / 250.0;
      sum += (1.0 / (1.0 + first * first) + 0.5 / (1.0 + second * second)) * sin(h * phase);
    }
    const double syllable = part < 0.85 ? sin(PI * part / 0.85) : 0.0;
    sound->samples[i] += (float)(peak * 0.4 * syllable * sum);
  }
}

/// When a reed is found, s; NAN if it is not. `began_s` receives when it began, as told then.
static double
found_at(const Sound* const sound, const double least_db, double* const began_s)
{
  SrSteadyPartials* const partials = sr_steady_partials_new(sound->rate_hz);
  assert_non_null(partials);
  sr_steady_partials_reset(partials, least_db);
  double found_s = (double)NAN;
  for (size_t i = 0; i < sound->count && isnan(found_s); i += CHUNK) {
    const size_t count = sound->count - i < CHUNK ? sound->count - i : CHUNK;
    const size_t sounded = sr_steady_partials_push(partials, sound->samples + i, count);
    if (sounded) {
      found_s = (double)(i + count) / sound->rate_hz;
      *began_s = found_s - (double)sounded / sound->rate_hz;
    }
  }
  sr_steady_partials_del(partials);
  return found_s;
}

static const double RATES_HZ[] = {16000.0, 44100.0, 48000.0, 96000.0, 192000.0};
#define RATES (sizeof(RATES_HZ) / sizeof(RATES_HZ[0]))

static void
test_a_reed_is_found(void** const state)
{
  (void)state;
  double worst_s = 0.0;
  for (size_t r = 0; r < RATES; ++r) {
    // From the lowest of a small box to near the top
    for (int midi = 48; midi <= 86; ++midi) {
      Sound sound = silence(RATES_HZ[r], 1.0);
      add_reed(&sound, 0.3, 440.0 * pow(2.0, (midi - 69) / 12.0), 0.1);
      double began_s = 0.0;
      const double found_s = found_at(&sound, -50.0, &began_s);
      if (!(found_s > 0.3 && found_s < 0.55) || !(began_s > 0.2 && began_s < 0.36)) {
        fail_msg("MIDI note %d at %.0f Hz: found at %.3f s as begun at %.3f s", midi, RATES_HZ[r],
                 found_s, began_s);
      }
      worst_s = fmax(worst_s, found_s - 0.3);
      free(sound.samples);
    }
  }
  print_message("found within %.3f s\n", worst_s);
}

static void
test_a_reed_is_found_under_a_voice(void** const state)
{
  (void)state;
  double worst_s = 0.0;
  for (int midi = 60; midi <= 84; ++midi) {
    Sound sound = silence(44100.0, 1.6);
    add_voice(&sound, 120.0, 0.1);
    add_reed(&sound, 0.8, 440.0 * pow(2.0, (midi - 69) / 12.0), 0.1);
    double began_s = 0.0;
    const double found_s = found_at(&sound, -50.0, &began_s);
    if (!(found_s > 0.8 && found_s < 1.3)) {
      fail_msg("MIDI note %d: found at %.3f s", midi, found_s);
    }
    worst_s = fmax(worst_s, found_s - 0.8);
    free(sound.samples);
  }
  print_message("found within %.3f s\n", worst_s);
}

static void
test_a_voice_is_no_reed(void** const state)
{
  (void)state;
  for (double f0_hz = 95.0; f0_hz < 300.0; f0_hz *= 1.15) {
    Sound sound = silence(44100.0, 8.0);
    add_voice(&sound, f0_hz, 0.2);
    double began_s = 0.0;
    const double found_s = found_at(&sound, (double)-INFINITY, &began_s);
    if (!isnan(found_s)) {
      fail_msg("a voice of %.0f Hz is taken for a reed at %.3f s", f0_hz, found_s);
    }
    free(sound.samples);
  }
}

/// Verdicts as espeak-ng says them, if it is there.
static void
test_spoken_verdicts_are_no_reed(void** const state)
{
  (void)state;
  static const char words[] =
      "Clean. Bar 7, the D, air heard, 6 decibels louder than the note can hide. You sped up by 20 "
      "percent from start to finish. Practise it with a click. Bar 2, cut absent, you played a "
      "strike instead before the second E. Flick a higher button. Pickup, you missed the B flat.";
  static const char* const voices[] = {"en", "en-us", "en-gb+f3", "en+m7"};
  char folder[] = "/tmp/steadyreed-spoken-XXXXXX";
  assert_non_null(mkdtemp(folder));
  char path[64];
  snprintf(path, sizeof(path), "%s/spoken.wav", folder);
  double heard_s = 0.0;
  for (size_t v = 0; v < sizeof(voices) / sizeof(voices[0]); ++v) {
    for (int speed = 140; speed <= 220; speed += 40) {
      char command[512];
      snprintf(command, sizeof(command), "espeak-ng -v %s -s %d -w %s '%s' >/dev/null 2>&1",
               voices[v], speed, path, words);
      SF_INFO facts = {0};
      SNDFILE* const file = system(command) == 0 ? sf_open(path, SFM_READ, &facts) : NULL;
      if (!file) {
        rmdir(folder);
        skip();
      }
      Sound sound = silence((double)facts.samplerate, (double)facts.frames / facts.samplerate);
      sf_readf_float(file, sound.samples, (sf_count_t)sound.count);
      sf_close(file);
      double began_s = 0.0;
      const double found_s = found_at(&sound, (double)-INFINITY, &began_s);
      heard_s += (double)sound.count / sound.rate_hz;
      free(sound.samples);
      if (!isnan(found_s)) {
        fail_msg("%s at %d words a minute is taken for a reed at %.3f s", voices[v], speed,
                 found_s);
      }
    }
  }
  remove(path);
  rmdir(folder);
  print_message("none in %.0f s of speech\n", heard_s);
}

/// What the program sounds itself: both verdicts, and a click four times a second.
static void
test_own_sounds_are_no_reed(void** const state)
{
  (void)state;
  for (size_t r = 0; r < RATES; ++r) {
    for (int clean = 0; clean < 2; ++clean) {
      Sound sound = silence(RATES_HZ[r], 1.2);
      const size_t quarter = (size_t)(0.25 * RATES_HZ[r]);
      sr_sound_verdict(RATES_HZ[r], clean, sound.samples + quarter, sound.count - quarter);
      for (size_t i = 0; i + quarter < sound.count; i += quarter) {
        float click[12000];
        const size_t count = sr_sound_click(RATES_HZ[r], i == 0, click, 12000);
        for (size_t k = 0; k < count; ++k) {
          sound.samples[i + k] += click[k];
        }
      }
      double began_s = 0.0;
      const double found_s = found_at(&sound, (double)-INFINITY, &began_s);
      assert_true(isnan(found_s) != 0);
      free(sound.samples);
    }
  }
}

/// As steady as a reed, but far softer than the notes just played; the same at their level is one.
static void
test_a_soft_hum_is_no_reed(void** const state)
{
  (void)state;
  Sound sound = silence(48000.0, 3.0);
  add_reed(&sound, 0.0, 200.0, 0.003);
  double began_s = 0.0;
  assert_true(isnan(found_at(&sound, -42.0, &began_s)) != 0);
  assert_true(found_at(&sound, -70.0, &began_s) > 0.0);
  free(sound.samples);
}

static void
test_what_is_lost_is_silence(void** const state)
{
  (void)state;
  Sound sound = silence(44100.0, 0.5);
  add_reed(&sound, 0.3, 440.0, 0.1);
  for (size_t i = 0; i < (size_t)(0.2 * 44100.0); ++i) {
    sound.samples[i] = NAN;
  }
  double began_s = 0.0;
  assert_true(found_at(&sound, -50.0, &began_s) > 0.3);
  free(sound.samples);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_a_reed_is_found),
      cmocka_unit_test(test_a_reed_is_found_under_a_voice),
      cmocka_unit_test(test_a_voice_is_no_reed),
      cmocka_unit_test(test_spoken_verdicts_are_no_reed),
      cmocka_unit_test(test_own_sounds_are_no_reed),
      cmocka_unit_test(test_a_soft_hum_is_no_reed),
      cmocka_unit_test(test_what_is_lost_is_silence),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
