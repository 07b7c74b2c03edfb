// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_transcribe_hard.c
   Recordings that hold no music, little of it, much of it, or music that is distorted or doubled: a
   sensible result, or a message that says what is wrong.

   usage: test_transcribe_hard STEADYREED EXERCISES ESPEAK_NG quick|long
*/

#include "extent.h"
#include "random.h"
#include "run_program.h"

#include <steadyreed/phrase.h>

#include <sndfile.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* program;
static const char* exercises;
static const char* espeak;
static char* folder;

#define RUN(...) run_program((const char* const[]){program, __VA_ARGS__, NULL})
#define RATE_HZ 48000

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(folder);
  return 0;
}

static void
put_wave(const char* const path, const float* const samples, const size_t count,
         const unsigned times)
{
  SF_INFO info = {.samplerate = RATE_HZ, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  assert_non_null(file);
  sf_command(file, SFC_SET_CLIPPING, NULL, SF_TRUE);
  for (unsigned i = 0; i < times; ++i) {
    assert_int_equal(sf_writef_float(file, samples, (sf_count_t)count), count);
  }
  sf_close(file);
}

/// The samples of a recording; free them.
static float*
get_wave(const char* const path, size_t* const count)
{
  SF_INFO info = {0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  assert_non_null(file);
  assert_int_equal(info.samplerate, RATE_HZ);
  *count = (size_t)info.frames;
  float* const samples = (float*)calloc(*count, sizeof(float));
  assert_int_equal(sf_readf_float(file, samples, info.frames), info.frames);
  sf_close(file);
  return samples;
}

/// An exercise, sounded; free the path.
static char*
sounded(const char* const exercise, const char* const bars)
{
  char* const written = folder_path(exercises, exercise);
  char* const take = folder_path(folder, "sounded.wav");
  ProgramRun run = RUN("sound", written, "--bars", bars, "-o", take);
  assert_int_equal(run.status, 0);
  run_clear(&run);
  free(written);
  return take;
}

static void
check_refused(const char* const take, const char* const words)
{
  ProgramRun run = RUN("transcribe", take);
  assert_int_equal(run.status, 1);
  assert_string_equal(run.output, "");
  if (!strstr(run.trouble, words)) {
    fail_msg("%s", run.trouble);
  }
  run_clear(&run);
}

/// Lines of ABC, from the first with notes on.
static char*
notes_of(const char* const take, const char* const option, const char* const value)
{
  ProgramRun run =
      option ? RUN("transcribe", take, option, value) : RUN("transcribe", take, "--title", "T");
  if (run.status != 0) {
    fail_msg("%s", run.trouble);
  }
  const char* const key = strstr(run.output, "\nK:");
  assert_non_null(key);
  char* const notes = strdup(strchr(key + 1, '\n') + 1);
  run_clear(&run);
  return notes;
}

static void
silence_and_noise_hold_no_notes(void** const state)
{
  (void)state;
  const size_t count = (size_t)4 * RATE_HZ;
  float* const samples = (float*)calloc(count, sizeof(float));
  char* const take = folder_path(folder, "none.wav");
  put_wave(take, samples, count, 1);
  check_refused(take, "silent from end to end");
  Random random = {7u};
  for (size_t i = 0; i < count; ++i) {
    samples[i] = (float)random_between(&random, -0.1, 0.1);
  }
  put_wave(take, samples, count, 1);
  check_refused(take, "No note was heard");
  // The mains
  for (size_t i = 0; i < count; ++i) {
    samples[i] = 0.1f * (float)sin(2.0 * M_PI * 50.0 * (double)i / RATE_HZ);
  }
  put_wave(take, samples, count, 1);
  check_refused(take, "No note was heard");
  free(samples);
  free(take);
}

static void
talk_holds_no_notes(void** const state)
{
  (void)state;
  if (!espeak[0]) {
    skip();
  }
  char* const take = folder_path(folder, "talk.wav");
  ProgramRun run = run_program((const char* const[]){
      espeak, "-w", take, "Now the second part again, and then the first one slowly, please.",
      NULL});
  assert_int_equal(run.status, 0);
  run_clear(&run);
  check_refused(take, "No note was heard");
  free(take);
}

static void
three_seconds_are_enough(void** const state)
{
  (void)state;
  char* const take = sounded("session-jig.abc", "1-2");
  char* const notes = notes_of(take, NULL, NULL);
  assert_string_equal(notes, "F{A}FA d{f}dA|B{d}BG A{c}AF|]\n");
  free(notes);
  free(take);
}

/// Four times as loud as fits. Four bars leave the key in doubt.
static void
what_is_clipped_is_written_alike(void** const state)
{
  (void)state;
  char* const take = sounded("session-jig.abc", "1-4");
  char* const clean = notes_of(take, "--key", "D");
  size_t count = 0;
  float* const samples = get_wave(take, &count);
  float most = 0.0f;
  for (size_t i = 0; i < count; ++i) {
    most = fmaxf(most, fabsf(samples[i]));
  }
  for (size_t i = 0; i < count; ++i) {
    samples[i] *= 4.0f / most;
  }
  char* const loud = folder_path(folder, "clipped.wav");
  put_wave(loud, samples, count, 1);
  char* const clipped = notes_of(loud, "--key", "D");
  assert_string_equal(clipped, clean);
  free(clipped);
  free(loud);
  free(samples);
  free(clean);
  free(take);
}

static void
octaves_are_written_once(void** const state)
{
  (void)state;
  static const char upper[] = "DFA dAF|EGB A2G|FED FGA|BAF D3|]\n";
  char* const written = folder_path(folder, "octaves.abc");
  char* const take = folder_path(folder, "octaves.wav");
  file_put(written, "X:1\nT:Both Hands at Once\nM:6/8\nL:1/8\nQ:3/8=90\nK:D\n"
                    "[DD,][FF,][AA,] [dD][AA,][FF,]|[EE,][GG,][BB,] [AA,]2[GG,]|"
                    "[FF,][EE,][DD,] [FF,][GG,][AA,]|[BB,][AA,][FF,] [DD,]3|]\n");
  ProgramRun run = RUN("sound", written, "-o", take);
  assert_int_equal(run.status, 0);
  run_clear(&run);
  run = RUN("transcribe", take);
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, upper));
  assert_non_null(strstr(run.trouble, "In octaves: likely; --octaves no changes it"));
  run_clear(&run);
  char* const lower = notes_of(take, "--octaves", "no");
  assert_string_equal(lower, "D,F,A, DA,F,|E,G,B, A,2G,|F,E,D, F,G,A,|B,A,F, D,3|]\n");
  char* const asked = notes_of(take, "--octaves", "yes");
  assert_string_equal(asked, upper);
  run = RUN("transcribe", take, "--octaves", "both");
  assert_int_equal(run.status, 2);
  assert_non_null(strstr(run.trouble, "--octaves takes yes or no"));
  run_clear(&run);
  free(asked);
  free(lower);
  free(take);
  free(written);
}

/// Long because it hears ten minutes.
static void
long_ten_minutes_are_written_down(void** const state)
{
  (void)state;
  char* const take = sounded("session-jig.abc", "1-16");
  size_t count = 0;
  float* const samples = get_wave(take, &count);
  const unsigned times = (unsigned)(600 * (size_t)RATE_HZ / count) + 1;
  char* const many = folder_path(folder, "many.wav");
  char* const heard = folder_path(folder, "many.abc");
  put_wave(many, samples, count, times);
  ProgramRun run = RUN("transcribe", many, "-o", heard);
  assert_int_equal(run.status, 0);
  run_clear(&run);
  SrPhrase* once = NULL;
  SrPhrase* phrase = NULL;
  char* const one = folder_path(folder, "one.abc");
  run = RUN("transcribe", take, "-o", one);
  assert_int_equal(run.status, 0);
  run_clear(&run);
  assert_int_equal(sr_phrase_read_file(one, NULL, &once, NULL), SR_OK);
  assert_int_equal(sr_phrase_read_file(heard, NULL, &phrase, NULL), SR_OK);
  assert_int_equal(sr_phrase_note_count(phrase), times * sr_phrase_note_count(once));
  sr_phrase_del(phrase);
  sr_phrase_del(once);
  free(one);
  free(heard);
  free(many);
  free(samples);
  free(take);
}

int
main(const int argc, char** const argv)
{
  if (argc != 5) {
    return 2;
  }
  program = argv[1];
  exercises = argv[2];
  espeak = argv[3];
  sr_test_extent(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(silence_and_noise_hold_no_notes),
      cmocka_unit_test(talk_holds_no_notes),
      cmocka_unit_test(three_seconds_are_enough),
      cmocka_unit_test(what_is_clipped_is_written_alike),
      cmocka_unit_test(octaves_are_written_once),
      cmocka_unit_test(long_ten_minutes_are_written_down),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
