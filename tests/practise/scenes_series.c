// SPDX-License-Identifier: GPL-3.0-or-later

// Sessions in a row: the tempo ladder, whose bars change, and a day's practice.

#include "scenes.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "course.h"
#include "made_history.h"
#include "run_program.h"

#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// It ends within, s; it needs far less on a machine at rest.
#define END_S 20.0
/// … and after a key, sooner than by silence, of which some seconds have gone by.
#define SKIP_S 12.0
#define LADDER_ROUNDS 3u

static const char four_bars[] = "%abc-2.1\nX:1\nT:Over the Yard\nM:6/8\nL:1/8\nQ:3/8=100\nK:D\n"
                                "A{c}A{c}A B{d}B{d}B|F{A}F{A}F D3|G{B}G{B}G E{G}E{G}E|"
                                "A{c}A{c}A F3|]\n";

/// A tape of rounds of two bars, as a file of their own; free() its path.
static char*
two_bars(Sitting* const s, const char* const name, const char* const bars, const unsigned rounds)
{
  char* const file = test_text("%s.abc", name);
  char* const sound = test_text("%s.wav", name);
  char* const path = sitting_path(s, file);
  char* const tape_path = sitting_path(s, sound);
  char* const text = test_text("%%abc-2.1\nX:1\nT:Two\nM:6/8\nL:1/8\nQ:3/8=100\nK:D\n%s|]\n", bars);
  file_put(path, text);
  const char* const values[] = {"reeds=made",   "bpm=100",      "rt60_s=0.25",
                                "direct_db=12", "floor_db=-60", NULL};
  char* const take = course_make_take(s, path, name, values);
  Tape tape = {.rate_hz = 44100};
  tape_silence(&tape, 1.0);
  for (unsigned i = 0; i < rounds; ++i) {
    tape_file(&tape, take, 0.0, INFINITY);
    tape_silence(&tape, 1.5);
  }
  tape_write(&tape, tape_path);
  tape_clear(&tape);
  free(take);
  free(text);
  free(path);
  free(file);
  free(sound);
  return tape_path;
}

static void
assert_said(const Sitting* const s, const char* const words)
{
  char* const said = sitting_said(s);
  if (!strstr(said, words)) {
    fail_msg("it did not say \"%s\" but\n%s", words, said);
  }
  free(said);
}

/// Three clean rounds a step up, three more and the next two bars come, in a session of their own.
static void
a_tempo_ladder(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  char* const phrase = sitting_path(s, "yard.abc");
  file_put(phrase, four_bars);
  char* const first = two_bars(s, "first", "A{c}A{c}A B{d}B{d}B|F{A}F{A}F D3", 2 * LADDER_ROUNDS);
  char* const second = two_bars(s, "second", "G{B}G{B}G E{G}E{G}E|A{c}A{c}A F3", LADDER_ROUNDS);
  const char* const options[] = {"--silent", "--ladder", "--ladder-from", "97", NULL};
  sitting_practise(s, phrase, options);
  sitting_wait_for(s, "Listening to", END_S);
  test_nap(0.5);
  sitting_play(s, first);
  sitting_wait_for(s, "2 of 3 clean: one more for a step up.", 30.0);
  sitting_wait_for(s, "Up a step, to 100.", END_S);
  sitting_wait_for(s, "That sticks. Now bars 3 to 4, at ", 30.0);
  sitting_wait_played(s);
  test_nap(1.5);
  sitting_play(s, second);
  // It begins where all stretches do, not at the top
  sitting_wait_for_times(s, "Up a step, to 100.", 2, 40.0);
  assert_int_equal(kill(s->program, SIGINT), 0);
  assert_int_equal(sitting_end(s, END_S), 0);
  assert_said(s, "A tempo ladder up to 100. Bars 1 to 2, at 97.");
  assert_said(s, "That sticks. Now bars 3 to 4, at 97.");
  assert_said(s, "9 rounds, 9 of them without a fault.");
  assert_int_equal(sitting_kept_count(s), 2);
  free(first);
  free(second);
  free(phrase);
}

/// A history of yesterday: two clean rounds of the tune, the last at 96.
static void
play_yesterday(const Short* const tune)
{
  SrHistory* history = NULL;
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  assert_int_equal(sr_phrase_read_file(tune->phrase, NULL, &phrase, NULL), SR_OK);
  const int yesterday = sr_moment_day(sr_moment_now()) - 1;
  for (int i = 0; i < 2; ++i) {
    const MadeRound round = {.bpm = 92.0 + 4.0 * i};
    made_round_add_of(history, phrase, &round, yesterday, i, tune->phrase);
  }
  sr_phrase_del(phrase);
  sr_history_close(history);
}

/// What `today --list` says; free() it.
static char*
list_today(void)
{
  const char* const arguments[] = {test_program, "today", "--list", NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 0);
  char* const list = strdup(run.output);
  run_clear(&run);
  return list;
}

/// One item of a day, with the click, from the pause before it to a key that goes on to the next.
static void
an_item_of_today(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  setenv("TZ", "UTC", 1);
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 2);
  play_yesterday(&tune);
  char* const before = list_today();
  if (!strstr(before, "  3    6 min  Short, bars 1 to 2: tempo ladder")) {
    fail_msg("%s", before);
  }
  const char* const arguments[] = {"today", "--only", "3", "--wait", "3", NULL};
  sitting_start_on_terminal(s, arguments);
  sitting_wait_for(s, "The count-in begins in", END_S);
  sitting_wait_for(s, "Count-in", END_S);
  sitting_play(s, tune.path);
  sitting_wait_for(s, "Round 2:", 30.0);
  sitting_wait_played(s);
  assert_int_equal(write(s->terminal, "n", 1), 1);
  assert_int_equal(sitting_end(s, SKIP_S), 0);
  assert_said(s, "1 of 1: Short, bars 1 to 2, 6 minutes: tempo ladder from 96, towards 100.");
  // The tempo of the last clean round
  assert_said(s, "A tempo ladder up to 100. All of it, at 96.");
  assert_said(s, "N or Return goes on to the next");
  assert_said(s, "Done: 1 of 1, 2 rounds, ");
  assert_int_equal(sitting_kept_count(s), 1);
  // The same is chosen; two rounds are a beginning
  char* const after = list_today();
  if (!strstr(after, "  3    6 min  Short, bars 1 to 2: tempo ladder") ||
      !strstr(after, "  begun today, 2 rounds\n")) {
    fail_msg("%s", after);
  }
  free(before);
  free(after);
  short_clear(&tune);
}

/// A drill begins at the tempo of its last clean round.
static void
a_drill_of_today(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  setenv("TZ", "UTC", 1);
  sitting_begin(s, 44100);
  char* const drill = test_phrase("first-cuts");
  SrHistory* history = NULL;
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  assert_int_equal(sr_phrase_read_file(drill, NULL, &phrase, NULL), SR_OK);
  // Long enough ago that it is more due than the next one
  const MadeRound round = {.bpm = 66.2};
  made_round_add_of(history, phrase, &round, sr_moment_day(sr_moment_now()) - 3, 0, drill);
  sr_phrase_del(phrase);
  sr_history_close(history);
  const char* const arguments[] = {"today", "--only", "2", "--wait", "1", NULL};
  sitting_start_on_terminal(s, arguments);
  sitting_wait_for(s, "Count-in", END_S);
  assert_said(s, "1 of 1: First Cuts, 3 minutes: cuts on repeated notes, from 66, towards 90.");
  assert_said(s, "At 66, where it was last clean. 3 clean rounds in a row are a step up.");
  assert_said(s, ", 66 pulses a minute: start with the volume low.");
  assert_int_equal(write(s->terminal, "q", 1), 1);
  assert_int_equal(sitting_end(s, END_S), 0);
  free(drill);
}

const Scene scenes_series[] = {
    {"a tempo ladder", a_tempo_ladder, false, false},
    {"a drill of today", a_drill_of_today, false, false},
    {"an item of today", an_item_of_today, false, true},
};
const size_t scenes_series_count = sizeof(scenes_series) / sizeof(scenes_series[0]);
