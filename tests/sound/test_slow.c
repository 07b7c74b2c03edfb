// SPDX-License-Identifier: GPL-3.0-or-later

// Played slowly, a take keeps its pitch, as aubio's "yin" hears it, has its length, and its notes
// begin in proportion, as aubio's "specflux" hears them.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/slow.h>
#include <steadyreed/sound.h>

#include <aubio/aubio.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE 44100.0

/// Most onsets looked for.
#define MOST 64

typedef struct {
  float* samples;
  size_t count;
  double rate_hz;
} Take;

static Take
render(const char* const abc)
{
  SrPhrase* phrase = NULL;
  SrSound* sound = NULL;
  assert_int_equal(sr_phrase_read_text(abc, strlen(abc), "test", NULL, &phrase, NULL), SR_OK);
  SrSoundSettings settings = sr_sound_settings_default();
  settings.rate_hz = RATE;
  assert_int_equal(sr_sound_new(phrase, &settings, &sound, NULL), SR_OK);
  Take take = {NULL, (size_t)sr_sound_length(sound), RATE};
  take.samples = (float*)calloc(take.count, sizeof(float));
  assert_non_null(take.samples);
  assert_int_equal(sr_sound_read(sound, take.samples, take.count), take.count);
  sr_sound_del(sound);
  sr_phrase_del(phrase);
  return take;
}

/// What a take still has to give.
typedef struct {
  const float* samples;
  size_t left;
} Rest;

static size_t
give(void* const context, float* const samples, const size_t count)
{
  Rest* const rest = (Rest*)context;
  const size_t given = count < rest->left ? count : rest->left;
  memcpy(samples, rest->samples, given * sizeof(float));
  rest->samples += given;
  rest->left -= given;
  return given;
}

static Take
slowly(const Take* const take, const double speed, const double rate_hz, const size_t chunk)
{
  SrSlow* slow = NULL;
  Rest rest = {take->samples, take->count};
  assert_int_equal(
      sr_slow_new(take->rate_hz, rate_hz, speed, take->count, give, &rest, &slow, NULL), SR_OK);
  Take slowed = {NULL, sr_slow_length(slow), rate_hz};
  slowed.samples = (float*)calloc(slowed.count + 1, sizeof(float));
  assert_non_null(slowed.samples);
  size_t done = 0;
  size_t got;
  while ((got = sr_slow_read(slow, slowed.samples + done, chunk)) > 0) {
    done += got;
  }
  assert_int_equal(done, slowed.count);
  sr_slow_del(slow);
  return slowed;
}

/// Median of aubio's "yin" over a span, Hz.
static double
pitch_hz(const Take* const take, const double from_s, const double to_s)
{
  const uint_t window = 4096;
  aubio_pitch_t* const pitch = new_aubio_pitch("yin", window, window, (uint_t)take->rate_hz);
  fvec_t* const in = new_fvec(window);
  fvec_t* const out = new_fvec(1);
  double found[MOST];
  size_t count = 0;
  for (size_t at = (size_t)(from_s * take->rate_hz);
       at + window < (size_t)(to_s * take->rate_hz) && count < MOST; at += window) {
    memcpy(in->data, take->samples + at, window * sizeof(float));
    aubio_pitch_do(pitch, in, out);
    size_t place = count++;
    for (; place > 0 && found[place - 1] > (double)out->data[0]; --place) {
      found[place] = found[place - 1];
    }
    found[place] = (double)out->data[0];
  }
  del_aubio_pitch(pitch);
  del_fvec(in);
  del_fvec(out);
  assert_true(count >= 3);
  return found[count / 2];
}

/// Onsets by aubio's "specflux", seconds; its window stretches with the sound, or what became
/// slower would no longer be an onset.
static size_t
find_onsets(const Take* const take, const double speed, double* const onsets)
{
  const uint_t hop = speed < 0.4 ? 1024 : speed < 0.7 ? 512 : 256;
  aubio_onset_t* const onset = new_aubio_onset("specflux", 4 * hop, hop, (uint_t)take->rate_hz);
  fvec_t* const in = new_fvec(hop);
  fvec_t* const out = new_fvec(1);
  size_t count = 0;
  for (size_t at = 0; at + hop <= take->count; at += hop) {
    memcpy(in->data, take->samples + at, hop * sizeof(float));
    aubio_onset_do(onset, in, out);
    if (out->data[0] > 0.0f && count < MOST) {
      onsets[count++] = (double)aubio_onset_get_last_s(onset);
    }
  }
  del_aubio_onset(onset);
  del_fvec(in);
  del_fvec(out);
  return count;
}

static const double speeds[] = {0.25, 0.5, 0.75, 1.0};
#define SPEED_COUNT (sizeof(speeds) / sizeof(speeds[0]))

static void
the_pitch_stays(void** const state)
{
  (void)state;
  static const char* const names[] = {"C,", "G,", "C", "F", "A", "e", "a", "c'", "g'"};
  double worst = 0.0;
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    char abc[128];
    snprintf(abc, sizeof(abc), "X:1\nT:One\nM:4/4\nL:1/1\nQ:1/4=120\nK:C\n%s|]\n", names[i]);
    const Take take = render(abc);
    const double before_hz = pitch_hz(&take, 0.3, 1.8);
    for (size_t s = 0; s < SPEED_COUNT; ++s) {
      for (int other = 0; other < (i % 3 ? 1 : 2); ++other) {
        const Take slowed = slowly(&take, speeds[s], other ? 48000.0 : RATE, 4096);
        const double after_hz = pitch_hz(&slowed, 0.3 / speeds[s], 1.8 / speeds[s]);
        const double cents = fabs(1200.0 * log2(after_hz / before_hz));
        worst = cents > worst ? cents : worst;
        if (!(cents <= 3.0)) {
          fail_msg("%s at %g: %.2f Hz before, %.2f after", names[i], speeds[s], before_hz,
                   after_hz);
        }
        free(slowed.samples);
      }
    }
    free(take.samples);
  }
  printf("pitch after slowing, at worst: %.2f cents off (limit 3)\n", worst);
}

static const char steps[] = "X:1\nT:Steps\nM:5/4\nL:1/8\nQ:1/4=120\nK:D\n"
                            "z2D2A2 F2d2|zB zG z4 E2|e2 c2A2 z4|]\n";

/// Where its notes begin, in quavers, which are a quarter of a second.
static const int due[] = {2, 4, 6, 8, 11, 13, 18, 20, 22, 24};
#define DUE_COUNT (sizeof(due) / sizeof(due[0]))

/// Time of the onset nearest to a note.
static double
nearest_s(const double* const onsets, const size_t count, const double due_s)
{
  double nearest = INFINITY;
  for (size_t i = 0; i < count; ++i) {
    nearest = fabs(onsets[i] - due_s) < fabs(nearest - due_s) ? onsets[i] : nearest;
  }
  return nearest;
}

static void
onsets_scale(void** const state)
{
  (void)state;
  const Take take = render(steps);
  double before[MOST];
  const size_t count = find_onsets(&take, 1.0, before);
  double worst_ms = 0.0;
  for (size_t s = 0; s < SPEED_COUNT; ++s) {
    const Take slowed = slowly(&take, speeds[s], RATE, 1000);
    // Within 1 percent was asked; it is exact
    assert_int_equal(slowed.count, lround((double)take.count / speeds[s]));
    double after[MOST];
    const size_t found = find_onsets(&slowed, speeds[s], after);
    for (size_t i = 0; i < DUE_COUNT; ++i) {
      const double due_s = 0.25 * due[i];
      const double heard_s = nearest_s(after, found, due_s / speeds[s]) * speeds[s];
      worst_ms = fmax(worst_ms, 1000.0 * fabs(heard_s - nearest_s(before, count, due_s)));
    }
    free(slowed.samples);
  }
  free(take.samples);
  printf("onsets after slowing, at worst: %.1f ms of the recording off (limit 15)\n", worst_ms);
  assert_true(worst_ms <= 15.0);
}

static void
chunks_do_not_matter(void** const state)
{
  (void)state;
  const Take take = render(steps);
  const Take whole = slowly(&take, 0.5, RATE, SIZE_MAX);
  const Take pieces = slowly(&take, 0.5, RATE, 77);
  assert_int_equal(whole.count, pieces.count);
  assert_memory_equal(whole.samples, pieces.samples, whole.count * sizeof(float));
  free(whole.samples);
  free(pieces.samples);
  free(take.samples);
}

/// If the source has less than was announced silence follows; what is more is not read.
static void
odd_input_is_borne(void** const state)
{
  (void)state;
  static float samples[3000];
  samples[100] = NAN;
  samples[200] = INFINITY;
  for (size_t length = 0; length <= 6000; length += 1500) {
    SrSlow* slow = NULL;
    Rest rest = {samples, 3000};
    assert_int_equal(sr_slow_new(RATE, RATE, 0.5, length, give, &rest, &slow, NULL), SR_OK);
    float out[700];
    size_t pulled = 0;
    size_t got;
    while ((got = sr_slow_read(slow, out, 700)) > 0) {
      for (size_t i = 0; i < got; ++i) {
        assert_true(isfinite(out[i]));
      }
      pulled += got;
    }
    assert_int_equal(pulled, 2 * length);
    assert_int_equal(rest.left, length < 3000 ? 3000 - length : 0);
    sr_slow_del(slow);
  }
}

static void
what_is_out_of_range_is_refused(void** const state)
{
  (void)state;
  SrSlow* slow = NULL;
  assert_int_equal(sr_slow_new(RATE, RATE, 0.2, 10, give, NULL, &slow, NULL), SR_BAD_ARGUMENT);
  assert_int_equal(sr_slow_new(RATE, RATE, NAN, 10, give, NULL, &slow, NULL), SR_BAD_ARGUMENT);
  assert_int_equal(sr_slow_new(7000.0, RATE, 0.5, 10, give, NULL, &slow, NULL), SR_BAD_ARGUMENT);
  assert_int_equal(sr_slow_new(RATE, 44100.5, 0.5, 10, give, NULL, &slow, NULL), SR_BAD_ARGUMENT);
  assert_int_equal(sr_slow_new(RATE, RATE, 0.25, (size_t)1 << 30, give, NULL, &slow, NULL),
                   SR_TOO_LARGE);
  assert_null(slow);
  sr_slow_del(NULL);
}

static void
a_build_without_it_says_so(void** const state)
{
  (void)state;
  SrSlow* slow = NULL;
  SrError error = {0};
  assert_int_equal(sr_slow_new(RATE, RATE, 0.5, 10, give, NULL, &slow, &error), SR_UNSUPPORTED);
  assert_non_null(strstr(error.message, "librubberband-dev"));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_pitch_stays),
      cmocka_unit_test(onsets_scale),
      cmocka_unit_test(chunks_do_not_matter),
      cmocka_unit_test(odd_input_is_borne),
      cmocka_unit_test(what_is_out_of_range_is_refused),
  };
  const struct CMUnitTest without[] = {
      cmocka_unit_test(a_build_without_it_says_so),
  };
  return sr_slow_is_built() ? cmocka_run_group_tests(tests, NULL, NULL)
                            : cmocka_run_group_tests(without, NULL, NULL);
}
