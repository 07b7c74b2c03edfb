// SPDX-License-Identifier: GPL-3.0-or-later

#include "course.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/// Samples by which the kept take is told to be where on the tape.
#define MARK 8192u
/// Samples at the ends of the kept take that may fade.
#define FADE 256u

char*
course_tape(const Sitting* const s, const char* const take, const double before_s, Tape* const tape)
{
  tape_silence(tape, before_s);
  tape_file(tape, take, 0.0, INFINITY);
  tape_silence(tape, 1.0);
  char* const path = sitting_path(s, "tape.wav");
  tape_write(tape, path);
  return path;
}

bool
course_has_lost(const Sitting* const s)
{
  char* const said = sitting_said(s);
  char* const trouble = sitting_trouble(s);
  const bool lost = strstr(said, "could not keep up") || strstr(trouble, "could not keep up");
  free(said);
  free(trouble);
  return lost;
}

/// Whether the kept take is part of the tape, each sample in its place.
static bool
arrived(const Sitting* const s, const Tape* const tape)
{
  char* const path = sitting_kept(s);
  if (!path) {
    return true;
  }
  Tape kept = tape_read(path);
  free(path);
  assert_int_equal(kept.rate_hz, tape->rate_hz);
  long shift = 0;
  // In the first note, which is always kept
  size_t mark = 0;
  while (mark + MARK < tape->count && fabsf(tape->samples[mark]) < 0.1f) {
    ++mark;
  }
  bool good = tape_find(tape, mark, mark + MARK, &kept, &shift);
  size_t wrong = 0;
  for (size_t i = FADE; good && i + FADE < kept.count; ++i) {
    const long at = (long)i - shift;
    const float wanted = at >= 0 && at < (long)tape->count ? tape->samples[at] : 0.0f;
    wrong += fabsf(kept.samples[i] - wanted) < 2.0f / 32768.0f ? 0 : 1;
  }
  good = good && !wrong;
  if (!good) {
    print_message("  not all arrived as it was played (%zu samples of %zu differ): once more\n",
                  wrong, kept.count);
  }
  tape_clear(&kept);
  return good;
}

static void
forget_kept(const Sitting* const s)
{
  char* const path = sitting_kept(s);
  if (path) {
    remove(path);
  }
  free(path);
}

int
course_play(Sitting* const s, const char* const phrase, const char* const* const options,
            const char* const path, const Tape* const tape, const bool exact, const double most_s)
{
  for (int i = 0; i < TRIES; ++i) {
    sitting_practise(s, phrase, options);
    sitting_wait_until_ready(s);
    sitting_play(s, path);
    const int status = sitting_end(s, (double)tape->count / tape->rate_hz + most_s);
    kill(s->player, SIGTERM);
    waitpid(s->player, NULL, 0);
    s->player = 0;
    if (!course_has_lost(s) && (!exact || arrived(s, tape))) {
      return status;
    }
    if (course_has_lost(s)) {
      print_message("  samples were lost: once more\n");
    }
    forget_kept(s);
  }
  fail_msg("the machine was too busy %d times", TRIES);
  return -1;
}

void
course_check_kept(const Sitting* const s, const char* const phrase, const json_t* const at_the_end)
{
  assert_int_equal(sitting_kept_count(s), 1);
  char* const path = sitting_kept(s);
  json_t* const again = verdicts_assess(phrase, path, NULL);
  if (!json_equal(again, at_the_end)) {
    char* const one = json_dumps(at_the_end, JSON_INDENT(1));
    char* const two = json_dumps(again, JSON_INDENT(1));
    fail_msg("assess says otherwise of the kept take:\n%s\n%s", one, two);
  }
  json_decref(again);
  free(path);
}

char*
course_make_take(const Sitting* const s, const char* const phrase, const char* const name,
                 const char* const* const values)
{
  char* const file = test_text("%s.flac", name);
  char* const path = sitting_path(s, file);
  char* const truth = sitting_path(s, "truth.json");
  const char* arguments[24] = {test_make_take, phrase, path, truth};
  size_t count = 4;
  for (size_t i = 0; values && values[i]; ++i) {
    assert_true(count + 1 < 24);
    arguments[count++] = values[i];
  }
  ProgramRun run = run_program(arguments);
  if (run.status) {
    fail_msg("make_take: %s", run.trouble);
  }
  run_clear(&run);
  free(file);
  free(truth);
  return path;
}

static const char short_text[] = "%abc-2.1\nX:1\nT:Short\nM:6/8\nL:1/8\nQ:3/8=100\nK:D\n"
                                 "A{c}A{c}A B{d}B{d}B|F{A}F{A}F D3|]\n";

Short
short_tune(const Sitting* const s, const unsigned rounds)
{
  Short tune = {.phrase = sitting_path(s, "short.abc"), .tape = {.rate_hz = 44100}};
  FILE* const file = fopen(tune.phrase, "w");
  assert_non_null(file);
  fputs(short_text, file);
  fclose(file);
  const char* const values[] = {"reeds=made",   "bpm=100",      "rt60_s=0.25",
                                "direct_db=12", "floor_db=-60", NULL};
  tune.take = course_make_take(s, tune.phrase, "short", values);
  tape_silence(&tune.tape, 1.0);
  for (unsigned i = 0; i < rounds; ++i) {
    tape_file(&tune.tape, tune.take, 0.0, INFINITY);
    tape_silence(&tune.tape, 0.5);
  }
  tape_silence(&tune.tape, 2.0);
  tune.path = sitting_path(s, "tape.wav");
  tape_write(&tune.tape, tune.path);
  return tune;
}

void
short_clear(Short* const tune)
{
  tape_clear(&tune->tape);
  free(tune->phrase);
  free(tune->take);
  free(tune->path);
}
