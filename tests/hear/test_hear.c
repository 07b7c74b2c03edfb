// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_hear.c
   The engine's promises that do not depend on how good its ears are: any chunk
   size, any rate, bounded questions about what the microphone did not deliver.
*/

#include <steadyreed/hear.h>
#include <steadyreed/pitch.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MOST_EVENTS 512u

/// Samples with their rate.
typedef struct {
  double rate_hz;
  size_t count;
  float* samples;
} Sound;

/// What was heard.
typedef struct {
  size_t count;
  SrEvent events[MOST_EVENTS];
  size_t air_count;
  SrAirHeard air[8];
} Heard;

static Sound
silence(const double rate_hz, const double seconds)
{
  Sound sound = {rate_hz, (size_t)(rate_hz * seconds), NULL};
  sound.samples = (float*)calloc(sound.count, sizeof(float));
  assert_non_null(sound.samples);
  return sound;
}

/// How long a tone takes to rise to 63 % and to fall to 37 %, s.
typedef struct {
  double rise_s;
  double fall_s;
} Speech;

/// Add a tone of twelve harmonics.
static void
add_tone_that_speaks(const Sound* const sound, const double frequency_hz, const double start_s,
                     const double end_s, const double amplitude, const Speech speech)
{
  for (size_t i = 0; i < sound->count; ++i) {
    const double t = (double)i / sound->rate_hz;
    if (t < start_s || t > end_s + 5.0 * speech.fall_s) {
      continue;
    }
    const double rise = 1.0 - exp(-(t - start_s) / speech.rise_s);
    const double fall = t < end_s ? 1.0 : exp(-(t - end_s) / speech.fall_s);
    double value = 0.0;
    for (int k = 1; k <= 12; ++k) {
      if (frequency_hz * k < 0.45 * sound->rate_hz) {
        value += sin(2.0 * M_PI * frequency_hz * k * (t - start_s) + 0.7 * k * k) / k;
      }
    }
    sound->samples[i] += (float)(amplitude * rise * fall * value);
  }
}

/// Add one that starts and stops within a few milliseconds.
static void
add_tone(const Sound* const sound, const double frequency_hz, const double start_s,
         const double end_s, const double amplitude)
{
  const Speech quick = {0.004, 0.004};
  add_tone_that_speaks(sound, frequency_hz, start_s, end_s, amplitude, quick);
}

/// Noise from a fixed generator (Numerical Recipes' quick one), so that each run is the same.
static void
add_noise(const Sound* const sound, const double amplitude)
{
  uint32_t state = 12345;
  for (size_t i = 0; i < sound->count; ++i) {
    state = state * 1664525u + 1013904223u;
    sound->samples[i] += (float)(amplitude * ((double)state / 2147483648.0 - 1.0));
  }
}

static double
equal_tempered(const int midi)
{
  return 440.0 * exp2((midi - 69) / 12.0);
}

/// A4, cut with C5, A4, then B4 and D5, at 0.18 s a note.
static Sound
little_phrase(const double rate_hz)
{
  const Sound sound = silence(rate_hz, 2.0);
  add_tone(&sound, equal_tempered(69), 0.30, 0.60, 0.15);
  add_tone(&sound, equal_tempered(72), 0.60, 0.64, 0.15);
  add_tone(&sound, equal_tempered(69), 0.64, 0.90, 0.15);
  add_tone(&sound, equal_tempered(71), 0.90, 1.20, 0.15);
  add_tone(&sound, equal_tempered(74), 1.20, 1.50, 0.15);
  add_noise(&sound, 0.0005);
  return sound;
}

static void
pull_all(SrHear* const hear, Heard* const heard)
{
  SrEvent event;
  while (sr_hear_pull(hear, &event)) {
    assert_true(heard->count < MOST_EVENTS);
    heard->events[heard->count++] = event;
  }
  SrAirHeard air;
  while (sr_hear_pull_air(hear, &air)) {
    assert_true(heard->air_count < 8);
    heard->air[heard->air_count++] = air;
  }
}

static void
listen(const Sound* const sound, const SrProfile* const profile, const SrExpected* const expected,
       const size_t chunk, Heard* const heard)
{
  SrHear* hear = NULL;
  assert_int_equal(sr_hear_new(sound->rate_hz, profile, expected, &hear, NULL), SR_OK);
  memset(heard, 0, sizeof(*heard));
  for (size_t at = 0; at < sound->count; at += chunk) {
    const size_t step = sound->count - at < chunk ? sound->count - at : chunk;
    assert_int_equal(sr_hear_push(hear, sound->samples + at, step), SR_OK);
    pull_all(hear, heard);
  }
  assert_int_equal(sr_hear_finish(hear), SR_OK);
  pull_all(hear, heard);
  sr_hear_del(hear);
}

static SrProfile*
calibration(const Sound* const sound, const SrExpected* const expected, const size_t chunk)
{
  SrCalibration* calibration = NULL;
  SrProfile* profile = NULL;
  assert_int_equal(sr_calibration_new(sound->rate_hz, expected, &calibration, NULL), SR_OK);
  for (size_t at = 0; at < sound->count; at += chunk) {
    const size_t step = sound->count - at < chunk ? sound->count - at : chunk;
    sr_calibration_push(calibration, sound->samples + at, step);
  }
  assert_int_equal(sr_calibration_finish(calibration, SR_READ_SINGLE, &profile, NULL), SR_OK);
  sr_calibration_del(calibration);
  return profile;
}

/// Hear a phrase after a number of samples of silence, with the windows laid by its sample `by`; by
/// none if that is negative.
static void
listen_behind(const Sound* const sound, const size_t lead, const int64_t by, Heard* const heard)
{
  Sound longer = {sound->rate_hz, sound->count + lead, NULL};
  longer.samples = (float*)calloc(longer.count, sizeof(float));
  assert_non_null(longer.samples);
  memcpy(longer.samples + lead, sound->samples, sound->count * sizeof(float));
  SrCalibration* calibration = NULL;
  SrProfile* profile = NULL;
  SrHear* hear = NULL;
  assert_int_equal(sr_calibration_new(longer.rate_hz, NULL, &calibration, NULL), SR_OK);
  if (by >= 0) {
    sr_calibration_align_to(calibration, (int64_t)lead + by);
  }
  sr_calibration_push(calibration, longer.samples, longer.count);
  assert_int_equal(sr_calibration_finish(calibration, SR_READ_SINGLE, &profile, NULL), SR_OK);
  sr_calibration_del(calibration);
  assert_int_equal(sr_hear_new(longer.rate_hz, profile, NULL, &hear, NULL), SR_OK);
  sr_profile_del(profile);
  if (by >= 0) {
    sr_hear_place(hear, (int64_t)lead + by);
  }
  memset(heard, 0, sizeof(*heard));
  assert_int_equal(sr_hear_push(hear, longer.samples, longer.count), SR_OK);
  assert_int_equal(sr_hear_finish(hear), SR_OK);
  pull_all(hear, heard);
  sr_hear_del(hear);
  free(longer.samples);
}

/// Most that an onset moves when silence is put before it, s.
static double
most_moved(const Sound* const sound, const int64_t by)
{
  static const size_t leads[] = {1, 29, 88, 131, 352, 5003};
  static Heard first;
  static Heard heard;
  double most = 0.0;
  listen_behind(sound, 0, by, &first);
  for (size_t i = 0; i < sizeof(leads) / sizeof(leads[0]); ++i) {
    listen_behind(sound, leads[i], by, &heard);
    assert_int_equal(heard.count, first.count);
    for (size_t e = 0; e < first.count; ++e) {
      const double lead_s = (double)leads[i] / sound->rate_hz;
      most = fmax(most, fabs(heard.events[e].onset_s - lead_s - first.events[e].onset_s));
    }
  }
  return most;
}

/// Laid by a sample of its own, the same playing is heard alike wherever the recording begins.
static void
test_windows_are_laid_by_a_sample(void** const state)
{
  (void)state;
  static const double rates[] = {44100.0, 48000.0, 96000.0};
  for (size_t i = 0; i < sizeof(rates) / sizeof(rates[0]); ++i) {
    const Sound sound = little_phrase(rates[i]);
    const double laid_s = most_moved(&sound, (int64_t)(0.71 * rates[i]));
    const double not_laid_s = most_moved(&sound, -1);
    print_message("at %.0f Hz onsets move by %.4f ms; %.4f ms if no window is laid\n", rates[i],
                  1e3 * laid_s, 1e3 * not_laid_s);
    assert_true(laid_s < 2e-5);
    assert_true(not_laid_s > 1e-4);
    free(sound.samples);
  }
}

/// Where the last of four notes is heard to begin, s: its foot lies under what the third leaves, so
/// that how fast this reed speaks tells. Before them come a few scraps of its pitch, as of a word.
static double
last_onset_s(const size_t scraps)
{
  static Heard heard;
  const Speech reed = {0.020, 0.030};
  const Speech scrap = {0.001, 0.004};
  const Sound sound = silence(48000.0, 5.0);
  const double hz = equal_tempered(62);
  for (size_t i = 0; i < scraps; ++i) {
    const double start_s = 0.30 + 0.25 * (double)i;
    add_tone_that_speaks(&sound, hz, start_s, start_s + 0.06, 0.15, scrap);
  }
  add_tone_that_speaks(&sound, hz, 2.0, 2.3, 0.15, reed);
  add_tone_that_speaks(&sound, hz, 2.8, 3.1, 0.15, reed);
  add_tone_that_speaks(&sound, hz, 3.6, 3.9, 0.15, reed);
  add_tone_that_speaks(&sound, hz, 3.95, 4.3, 0.15, reed);
  add_noise(&sound, 0.0005);
  SrProfile* const profile = calibration(&sound, NULL, sound.count);
  listen(&sound, profile, NULL, sound.count, &heard);
  sr_profile_del(profile);
  free(sound.samples);
  double last_s = (double)NAN;
  size_t before = 0;
  for (size_t i = 0; i < heard.count; ++i) {
    const SrEvent* const event = &heard.events[i];
    const bool sounds = event->kind == SR_EVENT_SOUND && event->midi == 62;
    before += sounds && event->onset_s < 1.9;
    last_s = sounds && fabs(event->onset_s - 3.96) < 0.05 ? event->onset_s : last_s;
  }
  assert_int_equal(before, scraps);
  return last_s;
}

/// What is too brief to be a note teaches nothing of how fast its reed speaks.
static void
test_scraps_move_no_onset(void** const state)
{
  (void)state;
  const double alone_s = last_onset_s(0);
  const double behind_s = last_onset_s(4);
  print_message("a note under a tail begins at %.4f s, behind scraps of its pitch at %.4f s\n",
                alone_s, behind_s);
  assert_true(fabs(behind_s - alone_s) < 0.0005);
}

/// The sound of `midi` whose onset is nearest to a time; NULL if none is within 20 ms.
static const SrEvent*
sound_at(const Heard* const heard, const int midi, const double onset_s)
{
  const SrEvent* best = NULL;
  for (size_t i = 0; i < heard->count; ++i) {
    const SrEvent* const event = &heard->events[i];
    if (event->kind == SR_EVENT_SOUND && event->midi == midi &&
        fabs(event->onset_s - onset_s) < 0.020 &&
        (!best || fabs(event->onset_s - onset_s) < fabs(best->onset_s - onset_s))) {
      best = event;
    }
  }
  return best;
}

static void
expect_little_phrase(const Heard* const heard)
{
  static const struct {
    int midi;
    double onset_s;
  } wanted[] = {{69, 0.30}, {72, 0.60}, {69, 0.64}, {71, 0.90}, {74, 1.20}};
  for (size_t i = 0; i < 5; ++i) {
    if (!sound_at(heard, wanted[i].midi, wanted[i].onset_s)) {
      for (size_t j = 0; j < heard->count; ++j) {
        print_message("heard %d at %.4f to %.4f\n", heard->events[j].midi, heard->events[j].onset_s,
                      heard->events[j].end_s);
      }
      fail_msg("MIDI note %d at %.2f s was not heard", wanted[i].midi, wanted[i].onset_s);
    }
  }
  assert_int_equal(heard->count, 5);
}

/// To the last bit.
static void
expect_identical(const SrEvent* const a, const SrEvent* const b)
{
  assert_int_equal(a->kind, b->kind);
  assert_int_equal(a->midi, b->midi);
  assert_memory_equal(&a->onset_s, &b->onset_s, sizeof(double));
  assert_memory_equal(&a->end_s, &b->end_s, sizeof(double));
  assert_memory_equal(&a->frequency_hz, &b->frequency_hz, sizeof(double));
  assert_memory_equal(&a->level_db, &b->level_db, sizeof(double));
  assert_memory_equal(&a->fall_db, &b->fall_db, sizeof(double));
  assert_memory_equal(&a->fit, &b->fit, sizeof(double));
}

/// One long note with white noise over it from 1.2 to 1.6 s, at 44.1 kHz 25 dB under the note's
/// RMS, and of the same density at other rates.
static Sound
note_with_air(const double rate_hz)
{
  const Sound sound = silence(rate_hz, 2.6);
  add_tone(&sound, equal_tempered(69), 0.40, 2.30, 0.15);
  add_noise(&sound, 0.0003);
  // The tone's RMS is 0.15 sqrt(sum of 1 / (2 k^2)) = 0.133; that of even noise its amplitude
  // / 1.73
  uint32_t state = 777;
  for (size_t i = (size_t)(1.2 * rate_hz); i < (size_t)(1.6 * rate_hz); ++i) {
    state = state * 1664525u + 1013904223u;
    sound.samples[i] += (float)(0.133 * 0.0562 * 1.73 * sqrt(rate_hz / 44100.0) *
                                ((double)state / 2147483648.0 - 1.0));
  }
  return sound;
}

/// At any rate, where it is; the noise between 0.5 and 10 kHz is a part of it that depends on the
/// rate.
static void
test_air_is_heard_at_any_rate(void** const state)
{
  (void)state;
  static const double rates[] = {16000.0, 22050.0, 44100.0, 48000.0, 96000.0, 192000.0};
  static Heard heard;
  for (size_t i = 0; i < sizeof(rates) / sizeof(rates[0]); ++i) {
    const Sound sound = note_with_air(rates[i]);
    SrProfile* const profile = calibration(&sound, NULL, 65536);
    listen(&sound, profile, NULL, 65536, &heard);
    assert_int_equal(heard.air_count, 1);
    assert_int_equal(heard.air[0].midi, 69);
    assert_true(fabs(heard.air[0].start_s - 1.2) < 0.03);
    assert_true(fabs(heard.air[0].end_s - 1.6) < 0.03);
    const double half_hz = 0.5 * rates[i];
    const double share = (fmin(10000.0, 0.92 * half_hz) - 510.0) / half_hz;
    const double level_db = 10.0 * log10(heard.air[0].hiss_power / heard.air[0].note_power);
    assert_true(fabs(level_db - (-25.0 + 10.0 * log10(share * rates[i] / 44100.0))) < 1.5);
    sr_profile_del(profile);
    free(sound.samples);
  }
}

/// How far a release moves when silence is put before it, s and dB.
static void
air_moved(const Sound* const sound, const int64_t by, double* const moved_s, double* const moved_db)
{
  static const size_t leads[] = {1, 29, 352, 1003, 5003};
  static Heard first;
  static Heard heard;
  *moved_s = 0.0;
  *moved_db = 0.0;
  listen_behind(sound, 0, by, &first);
  assert_int_equal(first.air_count, 1);
  for (size_t i = 0; i < sizeof(leads) / sizeof(leads[0]); ++i) {
    listen_behind(sound, leads[i], by, &heard);
    assert_int_equal(heard.air_count, 1);
    const SrAirHeard* const one = &first.air[0];
    const SrAirHeard* const two = &heard.air[0];
    const double lead_s = (double)leads[i] / sound->rate_hz;
    *moved_s = fmax(*moved_s, fabs(two->start_s - lead_s - one->start_s));
    *moved_s = fmax(*moved_s, fabs(two->end_s - lead_s - one->end_s));
    *moved_db = fmax(*moved_db, fabs(10.0 * log10(two->hiss_power / one->hiss_power)));
  }
}

/// Laid by a sample of its own, the same air is heard alike wherever the recording begins.
static void
test_air_is_laid_by_a_sample(void** const state)
{
  (void)state;
  const Sound sound = note_with_air(44100.0);
  double laid_s = 0.0;
  double laid_db = 0.0;
  double not_laid_s = 0.0;
  double not_laid_db = 0.0;
  air_moved(&sound, 44100, &laid_s, &laid_db);
  air_moved(&sound, -1, &not_laid_s, &not_laid_db);
  print_message("air moves by %.3f ms and %.4f dB; by %.3f ms and %.4f dB if no window is laid\n",
                1e3 * laid_s, laid_db, 1e3 * not_laid_s, not_laid_db);
  assert_true(laid_s < 1e-4 && laid_db < 0.2); // more silence before teaches a little
  assert_true(not_laid_s > 1e-3);
  free(sound.samples);
}

static void
test_any_chunk_size_gives_identical_air(void** const state)
{
  (void)state;
  const Sound sound = note_with_air(44100.0);
  static Heard whole;
  static Heard other;
  SrProfile* const profile = calibration(&sound, NULL, 65536);
  listen(&sound, profile, NULL, 65536, &whole);
  assert_int_equal(whole.air_count, 1);
  static const size_t chunks[] = {1, 64, 1000};
  for (size_t i = 0; i < 3; ++i) {
    listen(&sound, profile, NULL, chunks[i], &other);
    assert_int_equal(other.air_count, 1);
    assert_memory_equal(&other.air[0].start_s, &whole.air[0].start_s, sizeof(double));
    assert_memory_equal(&other.air[0].end_s, &whole.air[0].end_s, sizeof(double));
    assert_memory_equal(&other.air[0].hiss_power, &whole.air[0].hiss_power, sizeof(double));
    assert_memory_equal(other.air[0].hiss, whole.air[0].hiss, sizeof(whole.air[0].hiss));
    assert_memory_equal(&other.air[0].dip_db, &whole.air[0].dip_db, sizeof(double));
  }
  sr_profile_del(profile);
  free(sound.samples);
}

static void
test_any_chunk_size_gives_identical_events(void** const state)
{
  (void)state;
  const Sound sound = little_phrase(44100.0);
  static Heard whole;
  static Heard other;
  SrProfile* const profile = calibration(&sound, NULL, 65536);
  listen(&sound, profile, NULL, 65536, &whole);
  expect_little_phrase(&whole);
  static const size_t chunks[] = {1, 64, 1000};
  for (size_t i = 0; i < 3; ++i) {
    SrProfile* const again = calibration(&sound, NULL, chunks[i]);
    listen(&sound, again, NULL, chunks[i], &other);
    assert_int_equal(other.count, whole.count);
    for (size_t j = 0; j < whole.count; ++j) {
      expect_identical(&other.events[j], &whole.events[j]);
    }
    sr_profile_del(again);
  }
  sr_profile_del(profile);
  free(sound.samples);
}

static void
test_any_rate_hears_the_same_notes(void** const state)
{
  (void)state;
  static const double rates[] = {16000.0, 22050.0, 29399.0, 32000.0,  44100.0,
                                 48000.0, 88200.0, 96000.0, 176400.0, 192000.0};
  for (size_t i = 0; i < sizeof(rates) / sizeof(rates[0]); ++i) {
    static Heard heard;
    const Sound sound = little_phrase(rates[i]);
    SrProfile* const profile = calibration(&sound, NULL, 4096);
    listen(&sound, profile, NULL, 4096, &heard);
    expect_little_phrase(&heard);
    sr_profile_del(profile);
    free(sound.samples);
  }
}

static void
test_rates_outside_the_range_are_refused(void** const state)
{
  (void)state;
  static const double rates[] = {0.0, 8000.0, 15999.0, 192001.0, -44100.0, NAN, INFINITY};
  for (size_t i = 0; i < sizeof(rates) / sizeof(rates[0]); ++i) {
    SrHear* hear = NULL;
    SrCalibration* surveying = NULL;
    SrPitchTrack* track = NULL;
    SrError error = {0};
    assert_int_equal(sr_hear_new(rates[i], NULL, NULL, &hear, &error), SR_BAD_ARGUMENT);
    assert_null(hear);
    assert_true(strlen(error.message) > 0);
    assert_int_equal(sr_calibration_new(rates[i], NULL, &surveying, &error), SR_BAD_ARGUMENT);
    assert_null(surveying);
    assert_int_equal(sr_pitch_track_new(rates[i], &track, &error), SR_BAD_ARGUMENT);
    assert_null(track);
  }
}

static void
test_live_without_a_profile_hears_the_phrase(void** const state)
{
  (void)state;
  static Heard heard;
  const Sound sound = little_phrase(48000.0);
  SrExpected expected = {.any = true};
  expected.expected[69] = expected.expected[71] = expected.expected[72] = expected.expected[74] = 1;
  listen(&sound, NULL, &expected, 256, &heard);
  expect_little_phrase(&heard);
  free(sound.samples);
}

static void
test_silence_and_noise_are_no_notes(void** const state)
{
  (void)state;
  static Heard heard;
  const Sound quiet = silence(44100.0, 3.0);
  SrProfile* profile = calibration(&quiet, NULL, 4096);
  listen(&quiet, profile, NULL, 4096, &heard);
  assert_int_equal(heard.count, 0);
  sr_profile_del(profile);
  add_noise(&quiet, 0.05);
  profile = calibration(&quiet, NULL, 4096);
  listen(&quiet, profile, NULL, 4096, &heard);
  assert_int_equal(heard.count, 0);
  sr_profile_del(profile);
  free(quiet.samples);
}

static const SrEvent*
unheard_over(const Heard* const heard, const double at_s)
{
  for (size_t i = 0; i < heard->count; ++i) {
    const SrEvent* const event = &heard->events[i];
    if (event->kind == SR_EVENT_UNHEARD && event->onset_s <= at_s && event->end_s >= at_s) {
      return event;
    }
  }
  return NULL;
}

static void
test_what_the_microphone_did_not_deliver_is_reported(void** const state)
{
  (void)state;
  static Heard heard;
  const Sound sound = little_phrase(44100.0);
  for (size_t i = (size_t)(0.45 * 44100.0); i < (size_t)(0.50 * 44100.0); ++i) {
    sound.samples[i] = i % 2 ? NAN : -INFINITY;
  }
  for (size_t i = (size_t)(1.00 * 44100.0); i < (size_t)(1.02 * 44100.0); ++i) {
    sound.samples[i] = 1.0f;
  }
  for (size_t i = (size_t)(1.60 * 44100.0); i < (size_t)(1.95 * 44100.0); ++i) {
    sound.samples[i] = 0.0f;
  }
  listen(&sound, NULL, NULL, 4096, &heard);
  assert_non_null(unheard_over(&heard, 0.47));
  assert_non_null(unheard_over(&heard, 1.01));
  assert_non_null(unheard_over(&heard, 1.80));
  assert_null(unheard_over(&heard, 0.70));
  assert_null(unheard_over(&heard, 1.30));
  const SrEvent* const event = unheard_over(&heard, 0.47);
  assert_true(event && fabs(event->onset_s - 0.45) < 0.001 && fabs(event->end_s - 0.50) < 0.001);
  free(sound.samples);
}

/// Gaps by the hundred: each is reported, however the samples come.
static void
test_any_chunk_size_gives_every_gap(void** const state)
{
  (void)state;
  enum { GAPS = 120 };
  const double rate_hz = 16000.0;
  const Sound sound = silence(rate_hz, 0.12 * GAPS + 1.0);
  add_noise(&sound, 0.001);
  for (size_t g = 0; g < GAPS; ++g) {
    sound.samples[(size_t)((0.5 + 0.12 * (double)g) * rate_hz)] = NAN;
  }
  static const size_t chunks[] = {1 << 20, 100000, 1000, 7};
  for (size_t c = 0; c < sizeof(chunks) / sizeof(chunks[0]); ++c) {
    SrHear* hear = NULL;
    assert_int_equal(sr_hear_new(rate_hz, NULL, NULL, &hear, NULL), SR_OK);
    size_t gaps = 0;
    double last_s = 0.0;
    for (size_t at = 0; at <= sound.count; at += chunks[c]) {
      const size_t left = sound.count - at;
      assert_int_equal(sr_hear_push(hear, sound.samples + at, left < chunks[c] ? left : chunks[c]),
                       SR_OK);
      if (left < chunks[c]) {
        assert_int_equal(sr_hear_finish(hear), SR_OK);
      }
      SrEvent event;
      while (sr_hear_pull(hear, &event)) {
        if (event.kind == SR_EVENT_UNHEARD) {
          assert_true(fabs(event.onset_s - (0.5 + 0.12 * (double)gaps)) < 2.0 / rate_hz);
          assert_true(event.onset_s > last_s);
          last_s = event.onset_s;
          ++gaps;
        }
      }
    }
    assert_int_equal(gaps, GAPS);
    sr_hear_del(hear);
  }
  free(sound.samples);
}

/**
   Equal temperament at other references: a calibration without a phrase finds one within
   half a semitone of 440 Hz, and with a phrase beyond that.
*/
static void
test_the_reference_is_found(void** const state)
{
  (void)state;
  static const double references[] = {432.0, 436.0, 440.0, 446.0, 452.0, 456.0};
  for (size_t r = 0; r < sizeof(references) / sizeof(references[0]); ++r) {
    const Sound sound = silence(44100.0, 5.0);
    SrExpected expected = {.any = true};
    static const int scale[] = {62, 64, 66, 67, 69, 71, 72, 74};
    for (size_t i = 0; i < 8; ++i) {
      const double f = references[r] * exp2((scale[i] - 69) / 12.0);
      add_tone(&sound, f, 0.2 + 0.5 * (double)i, 0.68 + 0.5 * (double)i, 0.15);
      expected.expected[scale[i]] = 1;
    }
    add_noise(&sound, 0.0005);
    SrProfile* const profile = calibration(&sound, &expected, 4096);
    const double cents = 1200.0 * log2(sr_profile_reference_hz(profile) / references[r]);
    print_message("reference %.0f Hz: found %.2f Hz, %+.2f cents\n", references[r],
                  sr_profile_reference_hz(profile), cents);
    assert_true(fabs(cents) < 1.0);
    for (size_t i = 0; i < 8; ++i) {
      double off = 100.0;
      assert_true(sr_profile_reed(profile, scale[i], &off));
      assert_true(fabs(off) < 2.0);
    }
    sr_profile_del(profile);
    free(sound.samples);
  }
}

/// The track by aubio, and each sound's own frequency, against the tones' known ones.
static void
test_frequencies_are_measured(void** const state)
{
  (void)state;
  static Heard heard;
  for (int midi = 55; midi <= 88; midi += 3) {
    const Sound sound = silence(44100.0, 1.2);
    const double wanted = equal_tempered(midi) * exp2(7.0 / 1200.0);
    add_tone(&sound, wanted, 0.2, 0.9, 0.15);
    add_noise(&sound, 0.0005);
    SrProfile* const profile = calibration(&sound, NULL, 4096);
    listen(&sound, profile, NULL, 4096, &heard);
    sr_profile_del(profile);
    const SrEvent* const event = sound_at(&heard, midi, 0.2);
    const double cents = event ? 1200.0 * log2(event->frequency_hz / wanted) : 1e9;

    SrPitchTrack* track = NULL;
    assert_int_equal(sr_pitch_track_new(44100.0, &track, NULL), SR_OK);
    double worst = 0.0;
    size_t points = 0;
    for (size_t at = 0; at < sound.count;) {
      at += sr_pitch_track_push(track, sound.samples + at, sound.count - at);
      SrPitchPoint point;
      while (sr_pitch_track_pull(track, &point)) {
        if (point.at_s > 0.3 && point.at_s < 0.85) {
          ++points;
          worst = fmax(worst, fabs(1200.0 * log2(fmax(point.frequency_hz, 1.0) / wanted)));
        } else if (point.at_s < 0.15 || point.at_s > 1.0) {
          assert_true(point.frequency_hz <= 0.0);
        }
      }
    }
    sr_pitch_track_del(track);
    print_message("MIDI %d: sound %+.2f cents, aubio's track at most %.2f cents off\n", midi, cents,
                  worst);
    assert_true(fabs(cents) < 2.0);
    assert_true(points > 40);
    assert_true(worst < 5.0);
    free(sound.samples);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_any_chunk_size_gives_identical_events),
      cmocka_unit_test(test_air_is_laid_by_a_sample),
      cmocka_unit_test(test_any_chunk_size_gives_identical_air),
      cmocka_unit_test(test_any_chunk_size_gives_every_gap),
      cmocka_unit_test(test_windows_are_laid_by_a_sample),
      cmocka_unit_test(test_scraps_move_no_onset),
      cmocka_unit_test(test_air_is_heard_at_any_rate),
      cmocka_unit_test(test_any_rate_hears_the_same_notes),
      cmocka_unit_test(test_rates_outside_the_range_are_refused),
      cmocka_unit_test(test_live_without_a_profile_hears_the_phrase),
      cmocka_unit_test(test_silence_and_noise_are_no_notes),
      cmocka_unit_test(test_what_the_microphone_did_not_deliver_is_reported),
      cmocka_unit_test(test_the_reference_is_found),
      cmocka_unit_test(test_frequencies_are_measured),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
