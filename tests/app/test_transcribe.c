// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_transcribe.c
   An exercise is let sound, and written down again: what comes out is the exercise, it is judged as
   played right, and abc2midi (Debian's package abcmidi) takes it without complaint.

   usage: test_transcribe STEADYREED EXERCISES TAKES ABC2MIDI quick|long
*/

#include "extent.h"
#include "run_program.h"

#include <steadyreed/phrase.h>

#include <jansson.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* program;
static const char* exercises;
static const char* takes;
static const char* abc2midi;
static char* folder;

#define RUN(...) run_program((const char* const[]){program, __VA_ARGS__, NULL})

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
check_done(ProgramRun run)
{
  if (run.status != 0) {
    print_error("%s", run.trouble);
  }
  assert_int_equal(run.status, 0);
  run_clear(&run);
}

static SrPhrase*
read_phrase(const char* const path)
{
  SrPhrase* phrase = NULL;
  SrError error = {0};
  if (sr_phrase_read_file(path, NULL, &phrase, &error) != SR_OK) {
    fail_msg("%s: %s", path, error.message);
  }
  return phrase;
}

/// Every note as it was, in the same bar, as long, and with the same cut.
static void
check_same(const SrPhrase* const written, const SrPhrase* const heard)
{
  assert_int_equal(sr_phrase_note_count(heard), sr_phrase_note_count(written));
  for (size_t i = 0; i < sr_phrase_note_count(written); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(written, i);
    const SrPhraseNote* const other = sr_phrase_note(heard, i);
    assert_int_equal(other->midi, note->midi);
    assert_int_equal(other->cut_midi, note->cut_midi);
    assert_float_equal(sr_fraction_value(other->start), sr_fraction_value(note->start), 1e-9);
    assert_float_equal(sr_fraction_value(other->length), sr_fraction_value(note->length), 1e-9);
    assert_float_equal(sr_fraction_value(other->in_bar), sr_fraction_value(note->in_bar), 1e-9);
  }
}

/// All notes of a take as `assess --json` tells them.
static void
check_played(const char* const phrase_path, const char* const take_path)
{
  ProgramRun run = RUN("assess", phrase_path, take_path, "--json");
  assert_int_equal(run.status, 0);
  json_t* const text = json_loads(run.output, 0, NULL);
  assert_non_null(text);
  const json_t* const list = json_is_array(text) ? json_array_get(text, 0) : text;
  const json_t* const rounds = json_object_get(list, "rounds");
  assert_true(json_array_size(rounds) >= 1);
  const json_t* const notes = json_object_get(json_array_get(rounds, 0), "notes");
  assert_true(json_array_size(notes) > 0);
  for (size_t i = 0; i < json_array_size(notes); ++i) {
    const char* const status =
        json_string_value(json_object_get(json_array_get(notes, i), "status"));
    assert_string_equal(status, "played");
  }
  json_decref(text);
  run_clear(&run);
}

static void
check_abc2midi(const char* const path)
{
  if (!abc2midi[0]) {
    return;
  }
  char* const midi = folder_path(folder, "out.mid");
  ProgramRun run = run_program((const char* const[]){abc2midi, path, "-o", midi, NULL});
  assert_int_equal(run.status, 0);
  if (strstr(run.output, "Error") || strstr(run.output, "Warning")) {
    fail_msg("%s", run.output);
  }
  struct stat status;
  assert_int_equal(stat(midi, &status), 0);
  assert_true(status.st_size > 100);
  run_clear(&run);
  free(midi);
}

/// From an exercise to sound and back.
static void
go_round(const char* const name, const char* const meter)
{
  char* const written_path = folder_path(exercises, name);
  char* const take = folder_path(folder, "take.wav");
  char* const heard_path = folder_path(folder, "heard.abc");
  check_done(RUN("sound", written_path, "-o", take));
  if (meter) {
    check_done(RUN("transcribe", take, "-o", heard_path, "--force", "--meter", meter));
  } else {
    check_done(RUN("transcribe", take, "-o", heard_path, "--force"));
  }
  SrPhrase* const written = read_phrase(written_path);
  SrPhrase* const heard = read_phrase(heard_path);
  check_same(written, heard);
  assert_string_equal(sr_phrase_title(heard), "take");
  assert_string_equal(sr_phrase_key(heard), sr_phrase_key(written));
  assert_true(fabs(sr_phrase_tempo(heard) / sr_phrase_tempo(written) - 1.0) < 0.02);
  check_played(heard_path, take);
  check_abc2midi(heard_path);
  sr_phrase_del(written);
  sr_phrase_del(heard);
  free(written_path);
  free(take);
  free(heard_path);
}

static void
a_jig_comes_back(void** const state)
{
  (void)state;
  go_round("session-jig.abc", NULL);
}

static void
a_polka_comes_back(void** const state)
{
  (void)state;
  go_round("polka-start.abc", "2/4");
}

static void
long_others_come_back(void** const state)
{
  (void)state;
  go_round("kettle-jig.abc", NULL);
  go_round("pairs-that-move.abc", "2/4");
}

/// What exists is left alone unless that is asked for, and the recording always.
static void
nothing_is_written_over(void** const state)
{
  (void)state;
  static const char older[] = "what was there before\n";
  char* const phrase = folder_path(exercises, "twos.abc");
  char* const take = folder_path(folder, "twos.wav");
  char* const abc = folder_path(folder, "older.abc");
  check_done(RUN("sound", phrase, "--bars", "1-2", "-o", take));
  file_put(abc, older);
  ProgramRun run = RUN("transcribe", take, "-o", abc);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "--force"));
  run_clear(&run);
  char text[64] = "";
  FILE* const file = fopen(abc, "r");
  assert_non_null(file);
  text[fread(text, 1, sizeof(text) - 1, file)] = '\0';
  fclose(file);
  assert_string_equal(text, older);
  check_done(RUN("transcribe", take, "-o", abc, "--force"));
  SrPhrase* const heard = read_phrase(abc);
  sr_phrase_del(heard);
  run = RUN("transcribe", take, "-o", take, "--force");
  assert_int_equal(run.status, 2);
  run_clear(&run);
  free(phrase);
  free(take);
  free(abc);
}

/// The notes go to standard output alone, what was guessed to standard error.
static void
a_stretch_is_told(void** const state)
{
  (void)state;
  char* const phrase = folder_path(exercises, "session-jig.abc");
  char* const take = folder_path(folder, "jig.wav");
  // Two pulses a bar at 100 a minute: 1.2 s
  check_done(RUN("sound", phrase, "--bars", "1-8", "-o", take));
  ProgramRun run = RUN("transcribe", take, "--from", "0:02.4", "--to", "4.8", "--key", "D",
                       "--meter", "6/8", "--tempo", "100", "--title", "Two bars", "-o", "-");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "T:Two bars\nM:6/8\nL:1/8\nQ:3/8=100\nK:D\n"));
  assert_non_null(strstr(run.output, "G{B}GE F{A}FD|E{G}EF GFE|"));
  assert_non_null(strstr(run.trouble, "12 notes, 3 with a cut"));
  assert_non_null(strstr(run.trouble, "Meter 6/8: as asked"));
  assert_non_null(strstr(run.trouble, "Key D: as asked"));
  run_clear(&run);
  run = RUN("transcribe", take, "--from", "9:00");
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "jig.wav"));
  run_clear(&run);
  free(phrase);
  free(take);
}

/// Of the six releases in the take three lie 17 to 24 dB under their note, and three 38, which is
/// too soft to be found.
static void
air_is_marked(void** const state)
{
  (void)state;
  char* const take = folder_path(takes, "first-sip.flac");
  ProgramRun run = RUN("transcribe", take);
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "CD ED F4|CD ED \"^air\"F4|CD ED F4|CD ED \"^air\"F4|\n"
                                     "CD ED \"^air\"F4|CD ED F4|]\n"));
  run_clear(&run);
  free(take);
}

/// Two notes and a rest in a bar, at 110 crotchets a minute: nothing tells crotchets from quavers,
/// nor the first of two notes from the second.
static void
what_is_unsure_is_said(void** const state)
{
  (void)state;
  char* const take = folder_path(takes, "first-cuts.flac");
  ProgramRun run = RUN("transcribe", take);
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.trouble, "or 110 if you tap twice as fast: unsure; --tempo"));
  assert_non_null(strstr(run.trouble, "An upbeat of 1 quaver: unsure; --upbeat changes it"));
  assert_non_null(strstr(run.trouble, "Single notes: likely; --octaves yes changes it"));
  assert_null(strstr(run.trouble, "The same notes come"));
  run_clear(&run);
  run = RUN("transcribe", take, "--tempo", "110", "--upbeat", "0");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "\nA2 {c}A6|B2 {d}B6|F2 {A}F6|G2 {B}G6|\n"));
  assert_non_null(strstr(run.trouble, "The first note begins a bar: as asked"));
  run_clear(&run);
  free(take);
}

/// The phrase twice, with a pause between.
static void
rounds_are_told(void** const state)
{
  (void)state;
  char* const take = folder_path(takes, "demo.flac");
  ProgramRun run = RUN("transcribe", take, "--upbeat", "0", "--meter", "6/8");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.trouble, "The same notes come twice, from 0:00 and 0:09; --from"));
  assert_non_null(strstr(run.output, "\nA{c}A{c}A B{d}B{d}B|"));
  run_clear(&run);
  free(take);
}

int
main(const int argc, char** const argv)
{
  if (argc != 6) {
    return 2;
  }
  program = argv[1];
  exercises = argv[2];
  takes = argv[3];
  abc2midi = argv[4];
  sr_test_extent(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_jig_comes_back),       cmocka_unit_test(a_polka_comes_back),
      cmocka_unit_test(long_others_come_back),  cmocka_unit_test(nothing_is_written_over),
      cmocka_unit_test(a_stretch_is_told),      cmocka_unit_test(air_is_marked),
      cmocka_unit_test(what_is_unsure_is_said), cmocka_unit_test(rounds_are_told),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
