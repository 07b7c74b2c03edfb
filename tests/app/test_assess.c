// SPDX-License-Identifier: GPL-3.0-or-later

// `steadyreed assess` as a player runs it: whole takes in each format, and takes
// that are bad in each way. The program is the first argument.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "assessment_schema.h"
#include "extent.h"
#include "made_take.h"
#include "run_program.h"

#include <jansson.h>
#include <sndfile.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* program;
static char* folder;
static char* phrase_path;
static char* other_path;
static MadeTake take;

#define WAV_16 (SF_FORMAT_WAV | SF_FORMAT_PCM_16)
#define WAV_FLOAT (SF_FORMAT_WAV | SF_FORMAT_FLOAT)

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  phrase_path = folder_path(folder, "jig.abc");
  other_path = folder_path(folder, "other.abc");
  file_write(phrase_path, made_phrase, strlen(made_phrase));
  file_write(other_path, other_phrase, strlen(other_phrase));
  take = made_take(made_phrase, 44100.0, 1);
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  made_take_clear(&take);
  folder_remove(folder);
  free(folder);
  free(phrase_path);
  free(other_path);
  return 0;
}

static ProgramRun
assess(const char* const phrase, const char* const path, const char* const option)
{
  const char* const arguments[] = {program, "assess", phrase, path, option, NULL};
  return run_program(arguments);
}

/// Assess a take as JSON, which must succeed; the caller gives the value back.
static json_t*
assess_json(const char* const path)
{
  ProgramRun run = assess(phrase_path, path, "--json");
  if (run.status != 0) {
    print_error("%s", run.trouble);
  }
  assert_int_equal(run.status, 0);
  assert_string_equal(run.trouble, "");
  json_t* const root = json_loads(run.output, JSON_REJECT_DUPLICATES, NULL);
  assert_non_null(root);
  schema_check_assessment(root);
  run_clear(&run);
  return root;
}

static const json_t*
first_round(const json_t* const root)
{
  return json_array_get(json_object_get(root, "rounds"), 0);
}

/// All notes played, all cuts clean.
static void
check_all_well(const json_t* const root, const size_t rounds)
{
  const json_t* const list = json_object_get(root, "rounds");
  assert_int_equal(json_array_size(list), rounds);
  for (size_t r = 0; r < rounds; ++r) {
    const json_t* const notes = json_object_get(json_array_get(list, r), "notes");
    size_t cuts = 0;
    assert_int_equal(json_array_size(notes), MADE_NOTES);
    for (size_t i = 0; i < json_array_size(notes); ++i) {
      const json_t* const note = json_array_get(notes, i);
      const json_t* const cut = json_object_get(note, "cut");
      assert_string_equal(json_string_value(json_object_get(note, "status")), "played");
      if (json_is_object(cut)) {
        assert_string_equal(json_string_value(json_object_get(cut, "verdict")), "clean");
        ++cuts;
      }
    }
    assert_int_equal(cuts, MADE_CUTS);
  }
}

/// What is sounded is heard: every note, every cut, the tempo and the reference.
static void
sound_then_assess(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "sounded.wav");
  const char* const arguments[] = {program,    "sound",   phrase_path, "-o", path,
                                   "--rounds", "2",       "--tempo",   "92", "--reference",
                                   "446",      "--click", NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 0);
  json_t* const root = assess_json(path);
  check_all_well(root, 2);
  const json_t* const pulse = json_object_get(first_round(root), "pulse");
  assert_true(fabs(json_number_value(json_object_get(pulse, "played_bpm")) - 92.0) < 0.5);
  assert_true(fabs(json_number_value(json_object_get(root, "reference_hz")) - 446.0) < 0.8);
  json_decref(root);
  run_clear(&run);
  free(path);
}

/// The same samples give the same rounds to the last digit, in each lossless format and in stereo.
static void
long_lossless_formats_agree(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    int format;
    int channels;
  } forms[] = {
      {"mono.wav", WAV_16, 1},
      {"stereo.wav", WAV_16, 2},
      {"mono.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 1},
      {"four.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 4},
      {"mono.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 1},
  };
  json_t* first = NULL;
  for (size_t i = 0; i < sizeof(forms) / sizeof(forms[0]); ++i) {
    char* const path = folder_path(folder, forms[i].name);
    made_take_write(&take, path, forms[i].format, forms[i].channels);
    json_t* const root = assess_json(path);
    check_all_well(root, 1);
    if (first) {
      assert_true(json_equal(json_object_get(first, "rounds"), json_object_get(root, "rounds")));
      json_decref(root);
    } else {
      first = root;
    }
    free(path);
  }
  json_decref(first);
}

/// Vorbis changes the samples and smears attacks: verdicts agree, onsets within 5 ms, 1 on the
/// mean.
static void
ogg_agrees_nearly(void** const state)
{
  (void)state;
  char* const wav = folder_path(folder, "mono.wav");
  char* const ogg = folder_path(folder, "mono.ogg");
  made_take_write(&take, wav, WAV_16, 1);
  made_take_write(&take, ogg, SF_FORMAT_OGG | SF_FORMAT_VORBIS, 1);
  json_t* const exact = assess_json(wav);
  json_t* const near = assess_json(ogg);
  check_all_well(near, 1);
  const json_t* const exact_notes = json_object_get(first_round(exact), "notes");
  const json_t* const near_notes = json_object_get(first_round(near), "notes");
  double sum = 0.0;
  for (size_t i = 0; i < json_array_size(exact_notes); ++i) {
    const double one =
        json_number_value(json_object_get(json_array_get(exact_notes, i), "onset_s"));
    const double two = json_number_value(json_object_get(json_array_get(near_notes, i), "onset_s"));
    sum += fabs(one - two);
    assert_true(fabs(one - two) <= 0.005);
  }
  assert_true(sum / MADE_NOTES <= 0.001);
  json_decref(exact);
  json_decref(near);
  free(wav);
  free(ogg);
}

/// A take through a pipe is judged like the file.
static void
pipe_is_read(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "mono.wav");
  made_take_write(&take, path, WAV_16, 1);
  char* command = NULL;
  assert_true(
      asprintf(&command, "cat '%s' | '%s' assess '%s' - --json", path, program, phrase_path) > 0);
  const char* const arguments[] = {"sh", "-c", command, NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 0);
  json_t* const root = json_loads(run.output, 0, NULL);
  check_all_well(root, 1);
  json_decref(root);
  run_clear(&run);
  free(command);

  // A pipe with a name is opened once, also if what comes is another tune; opened again it would
  // wait for ever
  assert_true(
      asprintf(&command,
               "mkfifo '%s/p' && { cat '%s' >'%s/p' & timeout 20 '%s' assess '%s' '%s/p' --json; }",
               folder, path, folder, program, other_path, folder) > 0);
  run = run_program((const char* const[]){"sh", "-c", command, NULL});
  assert_int_equal(run.status, 1);
  json_t* const refusal = json_loads(run.output, 0, NULL);
  schema_check_refusal(refusal);
  json_decref(refusal);
  run_clear(&run);
  free(command);
  free(path);
}

// Bad takes ------------------------------------------------------------------------------------

/// A take that must be refused: exit status 1, one sentence with `words`, no score anywhere.
static void
check_refused(const char* const phrase, const char* const path, const char* const words)
{
  ProgramRun run = assess(phrase, path, NULL);
  assert_int_equal(run.status, 1);
  assert_string_equal(run.output, "");
  if (!strstr(run.trouble, words)) {
    print_error("expected \"%s\" in: %s", words, run.trouble);
  }
  assert_non_null(strstr(run.trouble, words));
  assert_int_equal(strncmp(run.trouble, "steadyreed: ", 12), 0);
  run_clear(&run);

  run = assess(phrase, path, "--json");
  assert_int_equal(run.status, 1);
  json_t* const root = json_loads(run.output, 0, NULL);
  schema_check_refusal(root);
  json_decref(root);
  run_clear(&run);

  run = assess(phrase, path, "--csv");
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.output, ",no,"));
  run_clear(&run);
}

/// A take that is judged with a remark.
static json_t*
check_remark(const char* const path, const char* const words)
{
  json_t* const root = assess_json(path);
  const json_t* const remarks = json_object_get(root, "remarks");
  bool found = false;
  for (size_t i = 0; i < json_array_size(remarks); ++i) {
    found = found || strstr(json_string_value(json_array_get(remarks, i)), words);
  }
  if (!found) {
    print_error("no remark with \"%s\"\n", words);
  }
  assert_true(found);
  return root;
}

static void
missing_take(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "nowhere.wav");
  check_refused(phrase_path, path, "no such recording");
  free(path);
}

static void
folder_as_take(void** const state)
{
  (void)state;
  check_refused(phrase_path, folder, "folder");
}

static void
empty_take(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "empty.wav");
  file_write(path, "", 0);
  check_refused(phrase_path, path, "empty");
  free(path);
}

static void
take_without_samples(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "header.wav");
  const MadeTake none = {take.samples, 0, 44100};
  made_take_write(&none, path, WAV_16, 1);
  check_refused(phrase_path, path, "0 samples");
  free(path);
}

static void
take_that_is_not_audio(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "words.wav");
  file_write(path, made_phrase, strlen(made_phrase));
  check_refused(phrase_path, path, "not a recording");
  free(path);
}

static void
take_cut_inside_its_header(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "stub.wav");
  file_write(path, "RIFF\x24\x10\0\0WAVEfmt \x10\0\0\0\1\0", 22);
  check_refused(phrase_path, path, "damaged");
  free(path);
}

/// A truncated take is judged as far as it goes, and says so; what is not there is not a score.
static void
long_truncated_take(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    int format;
    const char* words;
  } forms[] = {
      {"whole.wav", WAV_16, "as if cut off"},
      {"whole.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, "as if cut off"},
      {"whole.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, "breaks off"},
      {"whole.w64", SF_FORMAT_W64 | SF_FORMAT_PCM_16, "as if cut off"},
  };
  char* const cut_off = folder_path(folder, "truncated");
  for (size_t i = 0; i < sizeof(forms) / sizeof(forms[0]); ++i) {
    char* const path = folder_path(folder, forms[i].name);
    made_take_write(&take, path, forms[i].format, 1);
    json_t* const whole = assess_json(path);
    assert_int_equal(json_array_size(json_object_get(whole, "remarks")), 0);
    json_decref(whole);

    file_cut_off(path, cut_off, 0.7);
    json_t* const root = check_remark(cut_off, forms[i].words);
    const json_t* const notes = json_object_get(first_round(root), "notes");
    const json_t* const last = json_array_get(notes, MADE_NOTES - 1);
    assert_string_not_equal(json_string_value(json_object_get(last, "status")), "played");
    json_decref(root);
    free(path);
  }
  free(cut_off);
}

static void
short_take(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "short.wav");
  const MadeTake brief = {take.samples, 22050, 44100};
  made_take_write(&brief, path, WAV_16, 1);
  check_refused(phrase_path, path, "0.50 s long");
  free(path);
}

static void
long_silent_take(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "silent.wav");
  MadeTake silent = {calloc(441000, sizeof(float)), 441000, 44100};
  made_take_write(&silent, path, WAV_16, 1);
  check_refused(phrase_path, path, "silent");
  // Silence that stands off zero is no sound either.
  for (size_t i = 0; i < silent.count; ++i) {
    silent.samples[i] = 0.25f;
  }
  made_take_write(&silent, path, WAV_16, 1);
  check_refused(phrase_path, path, "ote");
  made_take_clear(&silent);
  free(path);
}

static MadeTake
copy_take(void)
{
  MadeTake copy = {malloc(take.count * sizeof(float)), take.count, take.rate_hz};
  assert_non_null(copy.samples);
  memcpy(copy.samples, take.samples, take.count * sizeof(float));
  return copy;
}

/// A gap that is not finite is the recording's fault: notes there are unheard, the rest is judged.
static void
take_that_is_not_finite(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "nan.wav");
  MadeTake copy = copy_take();
  for (size_t i = copy.count / 2; i < copy.count / 2 + 30000; ++i) {
    copy.samples[i] = i % 2 ? NAN : INFINITY;
  }
  made_take_write(&copy, path, WAV_FLOAT, 1);
  json_t* const root = check_remark(path, "30000 samples");
  const json_t* const notes = json_object_get(first_round(root), "notes");
  size_t missed = 0;
  size_t unheard = 0;
  size_t played = 0;
  for (size_t i = 0; i < json_array_size(notes); ++i) {
    const char* const status =
        json_string_value(json_object_get(json_array_get(notes, i), "status"));
    missed += !strcmp(status, "missed") || !strcmp(status, "wrong");
    unheard += !strcmp(status, "unheard");
    played += !strcmp(status, "played");
  }
  assert_int_equal(missed, 0);
  assert_true(unheard >= 1 && unheard <= 6);
  assert_int_equal(played + unheard, MADE_NOTES);
  json_decref(root);

  for (size_t i = 0; i < copy.count; ++i) {
    copy.samples[i] = NAN;
  }
  made_take_write(&copy, path, WAV_FLOAT, 1);
  check_refused(phrase_path, path, "No sample of the recording is a number");
  made_take_clear(&copy);
  free(path);
}

static void
take_with_constant_offset(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "offset.wav");
  MadeTake copy = copy_take();
  for (size_t i = 0; i < copy.count; ++i) {
    copy.samples[i] = 0.4f * copy.samples[i] + 0.3f;
  }
  made_take_write(&copy, path, WAV_16, 1);
  json_t* const root = check_remark(path, "30 % of full scale");
  check_all_well(root, 1);
  json_decref(root);
  made_take_clear(&copy);
  free(path);
}

static void
overdriven_take(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "overdriven.wav");
  MadeTake copy = copy_take();
  for (size_t i = 0; i < copy.count; ++i) {
    copy.samples[i] *= 6.0f;
  }
  made_take_write(&copy, path, WAV_16, 1);
  ProgramRun run = assess(phrase_path, path, "--json");
  // Overdriven throughout: either judged with the remark, or refused with it; never silently.
  assert_true(run.status == 0 || run.status == 1);
  assert_non_null(strstr(run.status ? run.trouble : run.output, "overdriven"));
  run_clear(&run);
  made_take_clear(&copy);
  free(path);
}

/// Floats in the scale of 16 bits.
static void
take_in_another_scale(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "scale.wav");
  MadeTake copy = copy_take();
  for (size_t i = 0; i < copy.count; ++i) {
    copy.samples[i] *= 32768.0f;
  }
  made_take_write(&copy, path, WAV_FLOAT, 1);
  check_refused(phrase_path, path, "beyond full scale");
  // A little over full scale is fine in floats, and judged without a word.
  for (size_t i = 0; i < copy.count; ++i) {
    copy.samples[i] = 6.0f * take.samples[i];
  }
  made_take_write(&copy, path, WAV_FLOAT, 1);
  json_t* const root = assess_json(path);
  check_all_well(root, 1);
  assert_int_equal(json_array_size(json_object_get(root, "remarks")), 0);
  json_decref(root);
  made_take_clear(&copy);
  free(path);
}

/// Two channels of opposite sign cancel in the mix; that is said.
static void
channels_that_cancel(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "cancel.wav");
  SF_INFO info = {0};
  info.samplerate = take.rate_hz;
  info.channels = 2;
  info.format = WAV_16;
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  for (size_t i = 0; i < take.count; ++i) {
    const float frame[2] = {take.samples[i], -take.samples[i]};
    sf_writef_float(file, frame, 1);
  }
  sf_close(file);
  check_refused(phrase_path, path, "cancel each other");
  free(path);
}

static void
take_at_a_low_rate(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "low.wav");
  const MadeTake low = {take.samples, take.count, 8000};
  made_take_write(&low, path, WAV_16, 1);
  check_refused(phrase_path, path, "8000 samples a second");
  free(path);
}

static void
long_take_of_another_tune(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "another.wav");
  MadeTake another = made_take(other_phrase, 44100.0, 2);
  made_take_write(&another, path, WAV_16, 1);
  check_refused(phrase_path, path, "like \"The Lamp in the Porch");
  made_take_write(&take, path, WAV_16, 1);
  check_refused(other_path, path, "like \"Quite Another\"");
  made_take_clear(&another);
  free(path);
}

/// An hour of one phrase after another, with talk of nothing between: all rounds, little memory.
static void
long_take_of_an_hour(void** const state)
{
  (void)state;
  MadeTake one = made_take(made_phrase, 16000.0, 1);
  char* const path = folder_path(folder, "hour.wav");
  SF_INFO info = {0};
  info.samplerate = 16000;
  info.channels = 1;
  info.format = WAV_16;
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
#ifdef __SANITIZE_ADDRESS__
  const size_t hour = (size_t)900 * 16000; // a quarter of it walks the same code
#else
  const size_t hour = (size_t)3600 * 16000;
#endif
  size_t rounds = 0;
  size_t written = 0;
  while (written + one.count <= hour) {
    assert_int_equal(sf_writef_float(file, one.samples, (sf_count_t)one.count), one.count);
    written += one.count;
    ++rounds;
  }
  sf_close(file);
  json_t* const root = assess_json(path);
  check_all_well(root, rounds);
  json_decref(root);
  made_take_clear(&one);
  free(path);
}

/// A good and a bad take together: both are reported, status 1.
static void
good_and_bad_together(void** const state)
{
  (void)state;
  char* const good = folder_path(folder, "mono.wav");
  char* const bad = folder_path(folder, "nowhere.wav");
  made_take_write(&take, good, WAV_16, 1);
  const char* const json[] = {program, "assess", phrase_path, good, bad, good, "--json", NULL};
  ProgramRun run = run_program(json);
  assert_int_equal(run.status, 1);
  json_t* const root = json_loads(run.output, 0, NULL);
  assert_int_equal(json_array_size(root), 3);
  schema_check_assessment(json_array_get(root, 0));
  schema_check_refusal(json_array_get(root, 1));
  schema_check_assessment(json_array_get(root, 2));
  json_decref(root);
  run_clear(&run);

  const char* const csv[] = {program, "assess", phrase_path, good, bad, good, "--csv", NULL};
  run = run_program(csv);
  assert_int_equal(run.status, 1);
  size_t lines = 0;
  for (const char* at = run.output; (at = strstr(at, "\r\n")); at += 2) {
    ++lines;
  }
  assert_int_equal(lines, 4);
  run_clear(&run);

  const char* const text[] = {program, "assess", phrase_path, good, bad, NULL};
  run = run_program(text);
  assert_int_equal(run.status, 1);
  assert_string_not_equal(run.output, "");
  // The one that is bad is named
  assert_non_null(strstr(run.trouble, bad));
  run_clear(&run);
  free(good);
  free(bad);
}

static void
output_goes_to_a_file(void** const state)
{
  (void)state;
  char* const good = folder_path(folder, "mono.wav");
  char* const out = folder_path(folder, "out.json");
  made_take_write(&take, good, WAV_16, 1);
  const char* const arguments[] = {program, "assess", phrase_path, good, "--json", "-o", out, NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 0);
  assert_string_equal(run.output, "");
  json_t* const root = json_load_file(out, 0, NULL);
  schema_check_assessment(root);
  json_decref(root);
  run_clear(&run);

  const char* const full[] = {program, "assess", phrase_path, good, "-o", "/dev/full", NULL};
  run = run_program(full);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "/dev/full"));
  run_clear(&run);
  free(good);
  free(out);
}

/// A take all a fourth higher is judged so, with what to type; typed, there is nothing to say. Any
/// other tune stays another tune.
static void
long_another_key_is_reported(void** const state)
{
  (void)state;
  static const struct {
    const char* semitones;
    const char* words;
  } keys[] = {{"5", "a fourth higher"},
              {"-7", "a fifth lower"},
              {"2", "a tone higher"},
              {"14", "14 semitones higher"}};
  char* const path = folder_path(folder, "key.wav");
  for (size_t i = 0; i < sizeof(keys) / sizeof(keys[0]); ++i) {
    const char* const semitones = keys[i].semitones;
    const char* const sound[] = {program,   "sound", phrase_path, "--transpose",
                                 semitones, "-o",    path,        NULL};
    ProgramRun run = run_program(sound);
    assert_int_equal(run.status, 0);
    run_clear(&run);
    run = assess(phrase_path, path, NULL);
    char typed[64];
    snprintf(typed, sizeof(typed), "--transpose %s\n", semitones);
    assert_int_equal(run.status, 0);
    if (!strstr(run.output, keys[i].words) || !strstr(run.output, typed)) {
      fail_msg("%s", run.output);
    }
    run_clear(&run);
    json_t* const root = assess_json(path);
    const json_t* const phrase = json_object_get(root, "phrase");
    check_all_well(root, 1);
    assert_int_equal(json_array_size(json_object_get(first_round(root), "advice")), 1);
    assert_int_equal(json_integer_value(json_object_get(phrase, "transposed")),
                     strtol(semitones, NULL, 10));
    json_decref(root);
    const char* const asked[] = {program,       "assess",  phrase_path, path,
                                 "--transpose", semitones, "--json",    NULL};
    run = run_program(asked);
    assert_int_equal(run.status, 0);
    json_t* const typed_root = json_loads(run.output, 0, NULL);
    check_all_well(typed_root, 1);
    assert_int_equal(json_array_size(json_object_get(typed_root, "remarks")), 0);
    json_decref(typed_root);
    run_clear(&run);
  }
  ProgramRun run = assess(other_path, path, NULL);
  assert_int_equal(run.status, 1);
  run_clear(&run);
  free(path);
}

int
main(const int count, char** const arguments)
{
  if (count < 2) {
    fputs("usage: test_assess PROGRAM\n", stderr);
    return 1;
  }
  program = arguments[1];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sound_then_assess),
      cmocka_unit_test(long_lossless_formats_agree),
      cmocka_unit_test(ogg_agrees_nearly),
      cmocka_unit_test(pipe_is_read),
      cmocka_unit_test(long_another_key_is_reported),
      cmocka_unit_test(missing_take),
      cmocka_unit_test(folder_as_take),
      cmocka_unit_test(empty_take),
      cmocka_unit_test(take_without_samples),
      cmocka_unit_test(take_that_is_not_audio),
      cmocka_unit_test(take_cut_inside_its_header),
      cmocka_unit_test(long_truncated_take),
      cmocka_unit_test(short_take),
      cmocka_unit_test(long_silent_take),
      cmocka_unit_test(take_that_is_not_finite),
      cmocka_unit_test(take_with_constant_offset),
      cmocka_unit_test(overdriven_take),
      cmocka_unit_test(take_in_another_scale),
      cmocka_unit_test(channels_that_cancel),
      cmocka_unit_test(take_at_a_low_rate),
      cmocka_unit_test(long_take_of_another_tune),
      cmocka_unit_test(long_take_of_an_hour),
      cmocka_unit_test(good_and_bad_together),
      cmocka_unit_test(output_goes_to_a_file),
  };
  sr_test_extent(count, arguments);
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
