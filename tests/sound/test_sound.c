// SPDX-License-Identifier: GPL-3.0-or-later

// How a phrase sounds: in tune by aubio's pitch, in time by arithmetic, never loud.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/sound.h>

#include <aubio/aubio.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  float* samples;
  size_t count;
} Take;

static SrPhrase*
read_phrase(const char* const abc)
{
  SrPhrase* phrase = NULL;
  SrError error = {0};
  if (sr_phrase_read_text(abc, strlen(abc), "test", NULL, &phrase, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  return phrase;
}

/// Render all, `chunk` samples at a time.
static Take
render(const SrPhrase* const phrase, const SrSoundSettings* const settings, const size_t chunk)
{
  SrSound* sound = NULL;
  assert_int_equal(sr_sound_new(phrase, settings, &sound, NULL), SR_OK);
  Take take = {NULL, (size_t)sr_sound_length(sound)};
  take.samples = (float*)calloc(take.count + 1, sizeof(float));
  assert_non_null(take.samples);
  size_t done = 0;
  while (done < take.count) {
    const size_t wanted = chunk < take.count - done ? chunk : take.count - done;
    assert_int_equal(sr_sound_read(sound, take.samples + done, wanted), wanted);
    done += wanted;
  }
  float more = 1.0f;
  assert_int_equal(sr_sound_read(sound, &more, 1), 0);
  sr_sound_del(sound);
  return take;
}

static float
largest(const Take* const take, const size_t from, const size_t to)
{
  float most = 0.0f;
  for (size_t i = from; i < to && i < take->count; ++i) {
    most = fmaxf(most, fabsf(take->samples[i]));
    assert_true(isfinite(take->samples[i]));
  }
  return most;
}

static const char jig[] = "X:1\nT:Before the Session\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n";

static void
chunks_make_no_difference(void** const state)
{
  (void)state;
  SrPhrase* const phrase = read_phrase(jig);
  SrSoundSettings settings = sr_sound_settings_default();
  settings.click = true;
  settings.count_in = true;
  settings.rate_hz = 16000.0;
  const Take whole = render(phrase, &settings, SIZE_MAX);
  static const size_t chunks[] = {1, 64, 441, 10007};
  for (size_t i = 0; i < sizeof(chunks) / sizeof(chunks[0]); ++i) {
    const Take take = render(phrase, &settings, chunks[i]);
    assert_int_equal(take.count, whole.count);
    assert_memory_equal(take.samples, whole.samples, whole.count * sizeof(float));
    free(take.samples);
  }
  free(whole.samples);
  sr_phrase_del(phrase);
}

/// 8 pulses a round at 80 a minute are 6 s; a bar between rounds and one counted in are 1.5 s each.
static void
length_is_exact(void** const state)
{
  (void)state;
  SrPhrase* const phrase = read_phrase(jig);
  SrSoundSettings settings = sr_sound_settings_default();
  SrSound* sound = NULL;
  assert_int_equal(sr_sound_new(phrase, NULL, &sound, NULL), SR_OK);
  assert_int_equal(sr_sound_length(sound), (uint64_t)(6.5 * 44100.0));
  sr_sound_del(sound);
  settings.rounds = 3;
  settings.count_in = true;
  settings.rate_hz = 48000.0;
  assert_int_equal(sr_sound_new(phrase, &settings, &sound, NULL), SR_OK);
  assert_int_equal(sr_sound_length(sound), (uint64_t)((1.5 + 3 * 6.0 + 2 * 1.5 + 0.5) * 48000.0));
  sr_sound_del(sound);
  settings.tempo_bpm = 160.0;
  settings.rounds = 1;
  settings.count_in = false;
  assert_int_equal(sr_sound_new(phrase, &settings, &sound, NULL), SR_OK);
  assert_int_equal(sr_sound_length(sound), (uint64_t)(3.5 * 48000.0));
  sr_sound_del(sound);
  sr_phrase_del(phrase);
}

/// Median of aubio's "yin" over a span, Hz.
static double
aubio_pitch_hz(const Take* const take, const double from_s, const double to_s)
{
  const uint_t window = 4096;
  aubio_pitch_t* const pitch = new_aubio_pitch("yin", window, window, 44100);
  fvec_t* const in = new_fvec(window);
  fvec_t* const out = new_fvec(1);
  double found[64];
  size_t count = 0;
  size_t at = (size_t)(from_s * 44100.0);
  for (; at + window < (size_t)(to_s * 44100.0) && count < 64; at += window) {
    memcpy(in->data, take->samples + at, window * sizeof(float));
    aubio_pitch_do(pitch, in, out);
    found[count++] = (double)out->data[0];
  }
  del_aubio_pitch(pitch);
  del_fvec(in);
  del_fvec(out);
  assert_true(count >= 3);
  for (size_t i = 1; i < count; ++i) {
    for (size_t j = i; j > 0 && found[j] < found[j - 1]; --j) {
      const double swap = found[j];
      found[j] = found[j - 1];
      found[j - 1] = swap;
    }
  }
  return found[count / 2];
}

/// Every pitch of three octaves, by aubio's pitch method, against equal temperament on ISO 16's A.
static void
aubio_hears_each_pitch(void** const state)
{
  (void)state;
  static const char* const names[] = {"C,", "^D,", "G,", "C", "^C", "D",  "E",  "F",  "G",
                                      "A",  "B",   "c",  "e", "g",  "^a", "c'", "e'", "g'"};
  static const int midi[] = {48, 51, 55, 60, 61, 62, 64, 65, 67,
                             69, 71, 72, 76, 79, 82, 84, 88, 91};
  for (size_t i = 0; i < sizeof(midi) / sizeof(midi[0]); ++i) {
    for (size_t other = 0; other < 2; ++other) {
      char abc[128];
      snprintf(abc, sizeof(abc), "X:1\nT:One\nM:4/4\nL:1/1\nQ:1/4=120\nK:C\n%s|]\n", names[i]);
      SrPhrase* const phrase = read_phrase(abc);
      SrSoundSettings settings = sr_sound_settings_default();
      settings.reference_hz = other ? 431.0 : 440.0;
      const Take take = render(phrase, &settings, 512);
      const double due = settings.reference_hz * exp2((midi[i] - 69) / 12.0);
      const double heard = aubio_pitch_hz(&take, 0.3, 1.8);
      if (fabs(1200.0 * log2(heard / due)) > 3.0) {
        fail_msg("%s: %.2f Hz due, aubio hears %.2f", names[i], due, heard);
      }
      free(take.samples);
      sr_phrase_del(phrase);
    }
  }
}

/// Clicks are added to the same music, on each pulse, the first of the bar louder.
static void
clicks_stand_on_the_pulse(void** const state)
{
  (void)state;
  SrPhrase* const phrase = read_phrase(jig);
  SrSoundSettings settings = sr_sound_settings_default();
  settings.count_in = true;
  settings.rate_hz = 48000.0;
  const Take plain = render(phrase, &settings, 4096);
  settings.click = true;
  const Take clicked = render(phrase, &settings, 4096);
  assert_int_equal(plain.count, clicked.count);
  for (size_t i = 0; i < plain.count; ++i) {
    clicked.samples[i] -= plain.samples[i];
  }
  // Two pulses counted in, already in both; then eight of 0.75 s
  const size_t pulse = 36000;
  float loud = 1.0f;
  for (size_t p = 2; p < 10; ++p) {
    const size_t at = p * pulse;
    assert_true(largest(&clicked, at - pulse / 2, at) < 1e-6f);
    assert_true(largest(&clicked, at, at + 48) > 0.05f);
    const float level = largest(&clicked, at, at + pulse / 2);
    assert_true(p % 2 == 0 ? level < 0.21f : level < 0.8f * loud);
    loud = level;
  }
  assert_true(largest(&plain, 0, 48) > 0.05f);
  assert_true(largest(&plain, pulse, pulse + 48) > 0.05f);
  assert_true(largest(&plain, pulse / 2, pulse) < 1e-6f);
  free(plain.samples);
  free(clicked.samples);
  sr_phrase_del(phrase);
}

/// A note starts within 10 ms of its time and is over when it should be.
static void
notes_stand_in_time(void** const state)
{
  (void)state;
  SrPhrase* const phrase =
      read_phrase("X:1\nT:Far Apart\nM:4/4\nL:1/4\nQ:1/4=60\nK:D\nz A z d|]\n");
  SrSoundSettings settings = sr_sound_settings_default();
  settings.rate_hz = 48000.0;
  const Take take = render(phrase, &settings, 4096);
  const size_t second = 48000;
  assert_true(largest(&take, 0, second) == 0.0f);
  assert_true(largest(&take, 2 * second + 9600, 3 * second) < 1e-4f);
  for (size_t note = 1; note <= 3; note += 2) {
    const float steady = largest(&take, note * second + 24000, note * second + 40000);
    assert_true(steady > 0.05f);
    assert_true(largest(&take, note * second, note * second + 480) > 0.25f * steady);
    assert_true(largest(&take, note * second, note * second + 1440) > 0.8f * steady);
  }
  assert_true(largest(&take, take.count - second / 4, take.count) < 1e-4f);
  free(take.samples);
  sr_phrase_del(phrase);
}

/// Full chords with a click on top stay under half of full scale.
static void
never_loud(void** const state)
{
  (void)state;
  SrPhrase* const phrase = read_phrase("X:1\nT:All Fingers\nM:2/4\nL:1/8\nQ:1/4=100\nK:C\n"
                                       "[C,G,CEGceg][C,G,CEGceg] [G,DGBdgb]2|[C,G,CEGceg]4|]\n");
  static const double rates[] = {16000.0, 44100.0, 192000.0};
  for (size_t i = 0; i < 3; ++i) {
    SrSoundSettings settings = sr_sound_settings_default();
    settings.click = true;
    settings.rate_hz = rates[i];
    const Take take = render(phrase, &settings, 777);
    const float most = largest(&take, 0, take.count);
    assert_true(most <= 0.5f);
    assert_true(most > 0.1f);
    free(take.samples);
  }
  sr_phrase_del(phrase);
}

/// A repeated note with a cut: another pitch sounds between for the cut's length, and the note lets
/// go.
static void
cut_parts_a_repeat(void** const state)
{
  (void)state;
  SrPhrase* const phrase = read_phrase("X:1\nT:Parted\nM:4/4\nL:1/2\nQ:1/4=60\nK:D\nA{c}A|]\n");
  SrPhrase* const plain = read_phrase("X:1\nT:Drone\nM:4/4\nL:1/2\nQ:1/4=60\nK:D\nA2|]\n");
  SrSoundSettings settings = sr_sound_settings_default();
  settings.cut_ms = 60.0;
  const Take take = render(phrase, &settings, 512);
  const Take drone = render(plain, &settings, 512);
  // Before the cut the two are alike; inside it the third above sounds and the note does not
  assert_true(fabsf(take.samples[44100] - drone.samples[44100]) < 1e-6f);
  const size_t from = (size_t)(2.025 * 44100.0);
  const size_t to = (size_t)(2.055 * 44100.0);
  double band[2] = {0.0, 0.0};
  for (size_t tone = 0; tone < 2; ++tone) {
    const double hz = tone ? 554.37 : 440.0;
    double re = 0.0;
    double im = 0.0;
    for (size_t i = from; i < to; ++i) {
      const double window = 0.5 - 0.5 * cos(2.0 * M_PI * (double)(i - from) / (double)(to - from));
      const double angle = 2.0 * M_PI * hz * (double)i / 44100.0;
      re += window * (double)take.samples[i] * cos(angle);
      im += window * (double)take.samples[i] * sin(angle);
    }
    band[tone] = re * re + im * im;
  }
  assert_true(band[1] > 10.0 * band[0]);
  free(take.samples);
  free(drone.samples);
  sr_phrase_del(phrase);
  sr_phrase_del(plain);
}

static void
bad_settings_are_reported(void** const state)
{
  (void)state;
  SrPhrase* const phrase = read_phrase(jig);
  for (size_t i = 0; i < 10; ++i) {
    SrSoundSettings settings = sr_sound_settings_default();
    switch (i) {
    case 0:
      settings.rate_hz = 8000.0;
      break;
    case 1:
      settings.rate_hz = (double)NAN;
      break;
    case 2:
      settings.rate_hz = 400000.0;
      break;
    case 3:
      settings.tempo_bpm = 5.0;
      break;
    case 4:
      settings.tempo_bpm = 1e9;
      break;
    case 5:
      settings.reference_hz = (double)INFINITY;
      break;
    case 6:
      settings.cut_ms = 1.0;
      break;
    case 7:
      settings.cut_ms = 500.0;
      break;
    case 8:
      settings.rounds = 0;
      break;
    default:
      settings.rounds = 20000;
      break;
    }
    SrSound* sound = NULL;
    SrError error = {0};
    assert_int_equal(sr_sound_new(phrase, &settings, &sound, &error), SR_BAD_ARGUMENT);
    assert_null(sound);
    assert_true(strlen(error.message) > 10);
  }
  sr_phrase_del(phrase);
}

/// A few tenths of a second without a click at either end, no louder than the click; the clean one
/// rises, the faulty one is lower.
static void
verdicts_differ(void** const state)
{
  (void)state;
  static const double rates_hz[] = {16000.0, 44100.0, 192000.0};
  for (size_t r = 0; r < 3; ++r) {
    double crossings[2][2] = {{0.0}};
    for (int clean = 0; clean < 2; ++clean) {
      static float samples[96000];
      const size_t count = sr_sound_verdict(rates_hz[r], clean, NULL, 0);
      assert_true((double)count > 0.15 * rates_hz[r] && (double)count < 0.3 * rates_hz[r]);
      assert_int_equal(sr_sound_verdict(rates_hz[r], clean, samples, 96000), count);
      assert_true(fabsf(samples[0]) < 1e-3f && fabsf(samples[count - 1]) < 1e-2f);
      for (size_t i = 1; i < count; ++i) {
        assert_true(fabsf(samples[i]) <= 0.5f);
        const bool crosses = (samples[i] < 0.0f) != (samples[i - 1] < 0.0f);
        crossings[clean][2 * i >= count] += crosses ? 1.0 : 0.0;
      }
      // No more than there is room for
      float few[8];
      assert_int_equal(sr_sound_verdict(rates_hz[r], clean, few, 8), 8);
      assert_memory_equal(few, samples, sizeof(few));
    }
    assert_true(crossings[1][1] > 1.2 * crossings[1][0]);
    assert_true(fabs(crossings[0][1] - crossings[0][0]) <= 2.0);
    assert_true(crossings[0][0] < 0.6 * crossings[1][0]);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(chunks_make_no_difference), cmocka_unit_test(length_is_exact),
      cmocka_unit_test(aubio_hears_each_pitch),    cmocka_unit_test(clicks_stand_on_the_pulse),
      cmocka_unit_test(notes_stand_in_time),       cmocka_unit_test(never_loud),
      cmocka_unit_test(cut_parts_a_repeat),        cmocka_unit_test(bad_settings_are_reported),
      cmocka_unit_test(verdicts_differ),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
