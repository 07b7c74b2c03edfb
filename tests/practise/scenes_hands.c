// SPDX-License-Identifier: GPL-3.0-or-later

#include "scenes.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "course.h"

#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

/// It ends within, s; it needs far less on a machine at rest.
#define END_S 20.0

/// Text.
static void
lines_and_round(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 1);
  const char* const options[] = {"--silent", "--rounds", "1", NULL};
  assert_int_equal(course_play(s, tune.phrase, options, tune.path, &tune.tape, true, 10.0), 0);
  char* const said = sitting_said(s);
  char* const lines = said;
  size_t notes = 0;
  for (const char* at = lines; at && at < strstr(said, "Round 1:"); at = strchr(at + 1, '\n')) {
    // A note told again says so
    const char* const end = strchr(at + 1, '\n');
    const char* const after = strstr(at, "(after all)");
    notes += !strncmp(at, "\n  bar ", 7) && !(after && after < end) ? 1 : 0;
  }
  if (notes != SHORT_NOTES || !strstr(said, "1 round in all") || !strstr(said, "Listening to") ||
      !strstr(said, "10 of 10 notes played, 6 of 6 cuts clean")) {
    fail_msg("%zu notes in\n%s", notes, said);
  }
  free(said);
  short_clear(&tune);
}

/// Begin, and wait until the second round has half gone by.
static Short
begin_second_round(Sitting* const s, const bool terminal)
{
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 2);
  const char* const options[] = {"--silent", NULL};
  if (terminal) {
    sitting_practise_on_terminal(s, tune.phrase, options);
  } else {
    sitting_practise(s, tune.phrase, options);
  }
  sitting_wait_until_ready(s);
  sitting_play(s, tune.path);
  sitting_wait_for(s, "Round 1:", 15.0);
  sitting_wait_for_times(s, "\n  bar 1   3rd B", 2, 10.0);
  return tune;
}

/// It ended well, and all of the first round was kept.
static void
check_end(Sitting* const s, const Short* const tune)
{
  assert_int_equal(sitting_end(s, END_S), 0);
  assert_int_equal(sitting_kept_count(s), 1);
  char* const kept = sitting_kept(s);
  json_t* const again = verdicts_assess(tune->phrase, kept, NULL);
  assert_int_equal(verdicts_count(verdicts_round(again, 0), "played"), SHORT_NOTES);
  char* const said = sitting_said(s);
  char* const trouble = sitting_trouble(s);
  assert_non_null(strstr(said, "in all"));
  assert_non_null(strstr(said, "Kept, for your eyes only, in"));
  assert_string_equal(trouble, "");
  free(said);
  free(trouble);
  free(kept);
  json_decref(again);
}

static void
ended_by_interrupt(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  Short tune = begin_second_round(s, false);
  kill(s->program, SIGINT);
  check_end(s, &tune);
  short_clear(&tune);
}

static void
ended_by_the_system(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  Short tune = begin_second_round(s, false);
  kill(s->program, SIGTERM);
  check_end(s, &tune);
  short_clear(&tune);
}

static void
press(const Sitting* const s, const char* const keys)
{
  assert_int_equal(write(s->terminal, keys, strlen(keys)), strlen(keys));
}

static void
assert_goes_on(const Sitting* const s)
{
  test_nap(0.4);
  assert_int_equal(kill(s->program, 0), 0);
  char* const said = sitting_said(s);
  assert_null(strstr(said, "in all"));
  free(said);
}

/// Whether two settings of a terminal are the same.
static bool
same_settings(const struct termios* const a, const struct termios* const b)
{
  return a->c_iflag == b->c_iflag && a->c_oflag == b->c_oflag && a->c_cflag == b->c_cflag &&
         a->c_lflag == b->c_lflag && !memcmp(a->c_cc, b->c_cc, sizeof(a->c_cc));
}

/// Keys on a terminal: arrows do not end it, the last one does, and the terminal is as it was.
static void
end_by_key(Sitting* const s, const char* const key)
{
  Short tune = begin_second_round(s, true);
  struct termios during;
  struct termios after;
  assert_int_equal(tcgetattr(s->terminal, &during), 0);
  assert_int_equal(during.c_lflag & (ICANON | ECHO), 0);
  press(s, "\033[A");
  assert_goes_on(s);
  // Its parts one by one, as over a slow line
  press(s, "\033");
  test_nap(0.01);
  press(s, "[");
  test_nap(0.01);
  press(s, "B");
  assert_goes_on(s);
  // Behind another arrow key, as both come at once to a program that is busy
  press(s, "\033[1;5C");
  press(s, key);
  check_end(s, &tune);
  assert_int_equal(tcgetattr(s->terminal, &after), 0);
  assert_true(same_settings(&s->terminal_before, &after));
  assert_true(after.c_lflag & ICANON);
  short_clear(&tune);
}

static void
ended_by_q(void** const state)
{
  end_by_key((Sitting*)*state, "q");
}

static void
ended_by_escape(void** const state)
{
  end_by_key((Sitting*)*state, "\033");
}

static void
ended_by_ctrl_c(void** const state)
{
  end_by_key((Sitting*)*state, "\003");
}

static unsigned
mode_of(const char* const path)
{
  struct stat status;
  assert_int_equal(stat(path, &status), 0);
  return status.st_mode & 07777u;
}

static double
seconds_of(const char* const path)
{
  Tape tape = tape_read(path);
  const double seconds = (double)tape.count / tape.rate_hz;
  tape_clear(&tape);
  return seconds;
}

/// Two rounds far apart, and how much of them is kept, s.
static double
keep_two_rounds(Sitting* const s, const char* const how)
{
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 1);
  Tape tape = {.rate_hz = 44100};
  for (int i = 0; i < 2; ++i) {
    tape_silence(&tape, 3.0);
    tape_file(&tape, tune.take, 0.0, INFINITY);
    tape_silence(&tape, 3.0);
  }
  char* const path = sitting_path(s, "two.wav");
  tape_write(&tape, path);
  const char* const options[] = {"--silent", "--until-silence", "60", how, NULL};
  sitting_practise(s, tune.phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, path);
  sitting_wait_for(s, "Round 2:", 40.0);
  sitting_wait_played(s);
  kill(s->program, SIGINT);
  assert_int_equal(sitting_end(s, END_S), 0);
  assert_int_equal(sitting_kept_count(s), 1);
  char* const kept = sitting_kept(s);
  const double seconds = seconds_of(kept);
  print_message("  %s: %.1f s kept of %.1f s played\n", how ? how : "rounds only", seconds,
                (double)tape.count / tape.rate_hz);
  assert_int_equal(mode_of(kept), 0600);
  assert_int_equal(mode_of(s->takes), 0700);
  json_t* const again = verdicts_assess(tune.phrase, kept, NULL);
  assert_int_equal(verdicts_rounds(again), 2);
  json_decref(again);
  free(kept);
  free(path);
  tape_clear(&tape);
  short_clear(&tune);
  return seconds;
}

static void
rounds_are_kept(void** const state)
{
  const double seconds = keep_two_rounds((Sitting*)*state, NULL);
  // From the first onset to the last end of a round, and two seconds about each
  assert_true(seconds > 2.0 * (SHORT_S - 0.4 + 4.0) && seconds < 2.0 * (SHORT_S + 0.4 + 4.0));
}

/// What was begun, broken off and begun again belongs to its round, with two seconds before it.
static void
false_start_is_kept(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 1);
  Tape tape = {.rate_hz = 44100};
  static const double begun_s = 1.3;
  static const double pause_s = 1.8;
  tape_silence(&tape, 4.0);
  tape_file(&tape, tune.take, 0.0, begun_s);
  // The room goes on: exact zeros would be a microphone that is off
  for (int i = 0; i < 6; ++i) {
    tape_file(&tape, tune.take, 0.0, pause_s / 6.0);
  }
  tape_file(&tape, tune.take, 0.0, INFINITY);
  tape_silence(&tape, 4.0);
  char* const path = sitting_path(s, "begun.wav");
  tape_write(&tape, path);
  const char* const options[] = {"--silent", NULL};
  sitting_practise(s, tune.phrase, options);
  sitting_wait_until_ready(s);
  sitting_play(s, path);
  sitting_wait_for(s, "Round 1:", 40.0);
  sitting_wait_played(s);
  kill(s->program, SIGINT);
  assert_int_equal(sitting_end(s, END_S), 0);
  char* const kept = sitting_kept(s);
  const double seconds = seconds_of(kept);
  json_t* const again = verdicts_assess(tune.phrase, kept, NULL);
  const json_t* const slips = json_object_get(verdicts_round(again, 0), "slips");
  char* const said = sitting_said(s);
  const char* const kind = json_string_value(json_object_get(json_array_get(slips, 0), "kind"));
  const double least_s = 2.0 + begun_s - 0.6 + pause_s + 0.4 + SHORT_S + 2.0;
  if (!kind || strcmp(kind, "false start") != 0 || seconds < least_s || seconds > least_s + 1.0) {
    fail_msg("%.1f s are kept, of %.1f to %.1f, with a slip %s, of\n%s", seconds, least_s,
             least_s + 1.0, kind ? kind : "missing", said);
  }
  json_decref(again);
  free(said);
  free(kept);
  free(path);
  tape_clear(&tape);
  short_clear(&tune);
}

static void
all_is_kept(void** const state)
{
  const double seconds = keep_two_rounds((Sitting*)*state, "--keep-all");
  assert_true(seconds > 2.0 * (SHORT_S + 6.0) - 1.0);
}

static void
nothing_is_kept(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 1);
  const char* const options[] = {"--silent", "--rounds", "1", "--no-keep", NULL};
  sitting_practise(s, tune.phrase, options);
  sitting_wait_for(s, "Listening to", 20.0);
  sitting_play(s, tune.path);
  assert_int_equal(sitting_end(s, 30.0), 0);
  char* const said = sitting_said(s);
  assert_non_null(strstr(said, "Round 1:"));
  assert_null(strstr(said, "Kept, for your eyes only, in"));
  // Not even a folder
  assert_int_not_equal(access(s->data, F_OK), 0);
  free(said);
  short_clear(&tune);
}

/// The signal twice.
static void
add_slower(const Sitting* const s, Tape* const tape)
{
  tape_note(tape, s->folder, "C,", 2.5);
  tape_silence(tape, 0.3);
  tape_note(tape, s->folder, "C,", 2.5);
  tape_silence(tape, 0.5);
}

static void
the_low_note_is_a_signal(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 1);
  Tape tape = {.rate_hz = 44100};
  tape_file(&tape, tune.take, 0.0, INFINITY);
  tape_silence(&tape, 1.5);
  tape_note(&tape, s->folder, "C,", 2.7);
  // A stray sound while the second signal may still come is not playing on
  tape_silence(&tape, 1.2);
  tape_note(&tape, s->folder, "_B", 0.2);
  tape_silence(&tape, 0.5);
  char* const first = sitting_path(s, "first.wav");
  tape_write(&tape, first);
  tape_clear(&tape);
  tape_silence(&tape, 1.0);
  add_slower(s, &tape);
  char* const second = sitting_path(s, "second.wav");
  tape_write(&tape, second);
  tape_clear(&tape);
  tape_silence(&tape, 1.0);
  tape_note(&tape, s->folder, "C,", 4.5);
  tape_silence(&tape, 0.5);
  char* const third = sitting_path(s, "third.wav");
  tape_write(&tape, third);
  tape_clear(&tape);

  const char* const options[] = {"--tempo", "100", NULL};
  sitting_practise(s, tune.phrase, options);
  sitting_wait_for(s, "- play", 20.0);
  sitting_play(s, first);
  sitting_wait_for(s, "Round 1:", 20.0);
  sitting_wait_for(s, "Listen: ", 20.0);
  const double listen_s = test_now_s();
  sitting_wait_played(s);
  sitting_wait_for_times(s, "- play", 2, 20.0);
  // The click begins again behind the phrase, not over its end: two of it are the count-in
  const double click_s = test_now_s() - 60.0 / 100.0;
  print_message("  the first click %.2f s after it said that it plays the phrase\n",
                click_s - listen_s);
  assert_true(click_s - listen_s > SHORT_S + 0.3);
  sitting_play(s, second);
  sitting_wait_for(s, "Slower: 90 ", 20.0);
  sitting_wait_played(s);
  sitting_wait_for_times(s, "- play", 3, 20.0);
  sitting_play(s, third);
  assert_int_equal(sitting_end(s, 20.0), 0);
  char* const said = sitting_said(s);
  if (!strstr(said, "You held the low note for") || !strstr(said, "1 round in all")) {
    fail_msg("%s", said);
  }
  free(said);
  free(first);
  free(second);
  free(third);
  short_clear(&tune);
}

/// It dies of a fault of its own behind "Slower": the terminal is as it was, and what was recorded
/// does not claim the tempo that it began with.
static void
it_dies(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 1);
  Tape tape = {.rate_hz = 44100};
  add_slower(s, &tape);
  char* const signals = sitting_path(s, "signals.wav");
  tape_write(&tape, signals);
  tape_clear(&tape);

  const char* const options[] = {"--tempo", "100", NULL};
  sitting_practise_on_terminal(s, tune.phrase, options);
  sitting_wait_for(s, "- play", 20.0);
  sitting_play(s, tune.path);
  sitting_wait_for(s, "Round 1:", 20.0);
  // By now the note tells of the click
  char* const kept = sitting_kept(s);
  json_t* again = verdicts_assess(tune.phrase, kept, NULL);
  assert_true(fabs(verdicts_number(verdicts_round(again, 0), "pulse.target_bpm") - 100.0) < 1e-6);
  assert_true(isfinite(verdicts_number(verdicts_round(again, 0), "pulse.mean_offset_ms")));
  json_decref(again);
  sitting_wait_played(s);
  sitting_play(s, signals);
  sitting_wait_for(s, "Slower: 90 ", 20.0);
  test_nap(2.5);
  kill(s->program, SIGABRT);
  assert_int_equal(sitting_end(s, 5.0), -SIGABRT);
  struct termios after;
  assert_int_equal(tcgetattr(s->terminal, &after), 0);
  assert_true(same_settings(&s->terminal_before, &after));
  again = verdicts_assess(tune.phrase, kept, NULL);
  assert_true(isnan(verdicts_number(verdicts_round(again, 0), "pulse.target_bpm")));
  assert_int_equal(verdicts_count(verdicts_round(again, 0), "played"), SHORT_NOTES);
  json_decref(again);
  free(kept);
  free(signals);
  short_clear(&tune);
}

/// A pedal's keys: the click waits until one is pressed, the phrase is heard and stopped, the tempo
/// goes up and down.
static void
a_pedal_does_it(void** const state)
{
  Sitting* const s = (Sitting*)*state;
  sitting_begin(s, 44100);
  Short tune = short_tune(s, 1);
  const char* const options[] = {"--tempo", "100",        "--ready", "D4",        "--wait",
                                 "600",     "--count-in", "each",    "--no-keep", NULL};
  sitting_practise_on_terminal(s, tune.phrase, options);
  sitting_wait_for(s, "Hold any D for a moment", 20.0);
  sitting_wait_for(s, "or by itself in 600 s", 5.0);
  press(s, "\033[6~");
  sitting_wait_for(s, "- play", 20.0);
  press(s, "\033[A");
  sitting_wait_for(s, "Faster: 104 ", 5.0);
  sitting_wait_for_times(s, "- play", 2, 20.0);
  press(s, "\033[5~");
  sitting_wait_for(s, "Listen: this is how it goes, at 104", 5.0);
  const double listen_s = test_now_s();
  press(s, " ");
  sitting_wait_for_times(s, "- play", 3, 20.0);
  print_message("  counted in %.2f s after it began to play\n", test_now_s() - listen_s);
  press(s, "\033[B");
  sitting_wait_for(s, "Slower: 100 ", 5.0);
  sitting_wait_for_times(s, "- play", 4, 20.0);
  // Another waits again after a round
  sitting_play(s, tune.path);
  sitting_wait_for(s, "Round 1:", 20.0);
  sitting_wait_for_times(s, "Hold any D for a moment", 2, 5.0);
  sitting_wait_played(s);
  press(s, "q");
  assert_int_equal(sitting_end(s, END_S), 0);
  char* const trouble = sitting_trouble(s);
  assert_string_equal(trouble, "");
  free(trouble);
  short_clear(&tune);
}

const Scene scenes_hands[] = {
    {"keys and a pedal", a_pedal_does_it, false, false},
    {"the low note lets it be heard, slower, and ends it", the_low_note_is_a_signal, false, true},
    {"it dies behind \"Slower\"", it_dies, false, false},
    {"rounds are kept", rounds_are_kept, false, false},
    {"a false start is kept whole", false_start_is_kept, false, false},
    {"all is kept", all_is_kept, false, false},
    {"nothing is kept", nothing_is_kept, false, false},
    {"lines of text", lines_and_round, false, false},
    {"ended by an interrupt", ended_by_interrupt, false, false},
    {"ended by the system", ended_by_the_system, false, false},
    {"ended by q", ended_by_q, false, true},
    {"ended by Escape", ended_by_escape, false, false},
    {"ended by Ctrl-C", ended_by_ctrl_c, false, false},
};
const size_t scenes_hands_count = sizeof(scenes_hands) / sizeof(scenes_hands[0]);
