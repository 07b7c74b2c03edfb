// SPDX-License-Identifier: GPL-3.0-or-later

// The tuner's frequency against tones of known frequency, over the instrument's range, beside YIN
// alone.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "hear/fine_pitch.h"

#include <steadyreed/pitch.h>

#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846
/// Of the largest error, cents.
#define AIM_CENTS 0.2
#define LIMIT_CENTS 1.0
#define LENGTH_S 0.5

/// A tone with harmonics of 1 / h to some power, or only odd ones, and noise.
typedef struct {
  const char* name;
  double falls; ///< Power of h
  int step;     ///< From one harmonic to the next
  double noise;
} Kind;

static const Kind kinds[] = {{"reed", 1.0, 1, 0.0005},
                             {"dull", 3.0, 1, 0.0005},
                             {"hollow", 0.7, 2, 0.0005},
                             {"bright", 0.3, 1, 0.0005},
                             {"in noise", 1.0, 1, 0.01}};

static void
make(const Kind* const kind, const double rate_hz, const double hz, float* const samples)
{
  const size_t count = (size_t)(LENGTH_S * rate_hz);
  for (size_t i = 0; i < count; ++i) {
    double sum = 0.0;
    for (int h = 1; h <= 12 && h * hz < 0.45 * rate_hz; h += kind->step) {
      sum += sin(2.0 * PI * h * hz * (double)i / rate_hz + 0.3 * h * h) / pow(h, kind->falls);
    }
    samples[i] = (float)(0.1 * sum + kind->noise * (2.0 * (double)rand() / (double)RAND_MAX - 1.0));
  }
}

/// Largest errors over a tone, cents: of YIN, and after it was made finer.
static void
measure(const double rate_hz, const double hz, const float* const samples, double* const yin,
        double* const fine_error)
{
  const size_t count = (size_t)(LENGTH_S * rate_hz);
  SrPitchTrack* track = NULL;
  assert_int_equal(sr_pitch_track_new(rate_hz, &track, NULL), SR_OK);
  SrFinePitch* const fine = sr_fine_pitch_new(rate_hz);
  *yin = 0.0;
  *fine_error = 0.0;
  size_t points = 0;
  for (size_t at = 0; at < count;) {
    const size_t taken = sr_pitch_track_push(track, samples + at, count - at);
    sr_fine_pitch_push(fine, samples + at, taken);
    at += taken;
    SrPitchPoint point;
    if (sr_pitch_track_pull(track, &point) && point.at_s > 0.1) {
      assert_true(point.frequency_hz > 0.0);
      const double found = sr_fine_pitch_hz(fine, point.frequency_hz);
      *yin = fmax(*yin, fabs(1200.0 * log2(point.frequency_hz / hz)));
      *fine_error = fmax(*fine_error, fabs(1200.0 * log2(found / hz)));
      ++points;
    }
  }
  assert_true(points > 10);
  sr_fine_pitch_del(fine);
  sr_pitch_track_del(track);
}

/// G2 to C7, in several spectra, at several rates.
static void
over_the_range(void** const state)
{
  (void)state;
  static const double rates[] = {44100.0, 48000.0, 96000.0};
  float* const samples = (float*)malloc((size_t)(LENGTH_S * 96000.0) * sizeof(float));
  assert_non_null(samples);
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    for (size_t k = 0; k < sizeof(kinds) / sizeof(kinds[0]); ++k) {
      double yin_worst = 0.0;
      double worst = 0.0;
      int worst_midi = 0;
      for (int midi = 43; midi <= 96; midi += r ? 5 : 1) {
        const double hz = 440.0 * exp2((midi - 69.0) / 12.0 + ((midi * 7) % 61 - 30.0) / 1200.0);
        double yin;
        double fine;
        make(&kinds[k], rates[r], hz, samples);
        measure(rates[r], hz, samples, &yin, &fine);
        yin_worst = fmax(yin_worst, yin);
        worst_midi = fine > worst ? midi : worst_midi;
        worst = fmax(worst, fine);
      }
      print_message("%s at %.0f Hz, G2 to C7: at most %.3f cents off (MIDI %d; aim %.1f, limit "
                    "%.1f); YIN alone %.2f\n",
                    kinds[k].name, rates[r], worst, worst_midi, AIM_CENTS, LIMIT_CENTS, yin_worst);
      assert_true(worst < LIMIT_CENTS);
    }
  }
  free(samples);
}

/// Before enough is known, and in silence, it says what it was told.
static void
nothing_to_measure(void** const state)
{
  (void)state;
  SrFinePitch* const fine = sr_fine_pitch_new(44100.0);
  static float silence[8000];
  silence[7] = (float)NAN;
  assert_true(fabs(sr_fine_pitch_hz(fine, 440.0) - 440.0) < 1e-9);
  sr_fine_pitch_push(fine, silence, 100);
  assert_true(fabs(sr_fine_pitch_hz(fine, 440.0) - 440.0) < 1e-9);
  sr_fine_pitch_push(fine, silence, 8000);
  assert_true(fabs(sr_fine_pitch_hz(fine, 440.0) - 440.0) < 1e-9);
  sr_fine_pitch_del(fine);
  sr_fine_pitch_del(NULL);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(over_the_range),
                                     cmocka_unit_test(nothing_to_measure)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
