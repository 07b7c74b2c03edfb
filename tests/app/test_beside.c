// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_beside.c
   `steadyreed beside`: which takes it finds, what it says of them at any width, its page, and the
   sound it writes, in which aubio's onset program finds the bars where they should be.

   usage: test_beside STEADYREED [PDFTOTEXT] [AUBIOONSET]
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_take.h"
#include "run_terminal.h"

#include <steadyreed/history.h>
#include <steadyreed/judged_take.h>
#include <steadyreed/kept_takes.h>
#include <steadyreed/slow.h>

#include <locale.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Pulses a minute of the two takes, and of how many rounds each is.
static const int tempos[2] = {80, 100};
static const unsigned rounds[2] = {1, 2};

static const char* program;
static const char* pdf_to_text;
static const char* onset_finder;
static char* data;
static char* takes_folder;
static char* unfinished;
static char* phrase_path;
static char* takes[2];

#define RUN(...)                                                                                   \
  run_program((const char* const[]){program, "beside", phrase_path, __VA_ARGS__, NULL})

static void
check(ProgramRun run, const int status, const char* const words)
{
  text_squeeze(run.output);
  text_squeeze(run.trouble);
  if (run.status != status || (!strstr(run.output, words) && !strstr(run.trouble, words))) {
    fail_msg("status %d, not %d, or no \"%s\" in:\n%s%s", run.status, status, words, run.output,
             run.trouble);
  }
  run_clear(&run);
}

/// The phrase with another tempo; free() it.
static char*
at_tempo(const int bpm)
{
  char* text = NULL;
  const char* const key = strstr(made_phrase, "K:");
  const char* const tempo = strstr(made_phrase, "Q:");
  const char* const end = tempo ? tempo : key;
  assert_non_null(key);
  assert_true(asprintf(&text, "%.*sQ:3/8=%d\n%s", (int)(end - made_phrase), made_phrase, bpm, key) >
              0);
  return text;
}

/// Record a take and keep it: a file in the takes folder, and its rounds in the history.
static char*
keep_take(SrHistory* const history, const SrPhrase* const phrase, const size_t index)
{
  static const char* const names[] = {"2026-10-12-200000-jig.flac", "2026-11-12-200000-jig.flac"};
  char* const abc = at_tempo(tempos[index]);
  MadeTake take = made_take(abc, 44100.0, rounds[index]);
  char* const path = folder_path(takes_folder, names[index]);
  made_take_write(&take, path, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 1);
  made_take_clear(&take);
  free(abc);
  SrJudgedTake judged;
  assert_int_equal(sr_judged_take_make(phrase, path, NULL, false, &judged), SR_OK);
  assert_int_equal(judged.assessment->round_count, rounds[index]);
  const SrPractice practice = {.asked_bpm = (double)NAN, .take = path};
  for (size_t r = 0; r < judged.assessment->round_count; ++r) {
    // 12 October and 12 November 2026, 20:00 UTC
    const SrMoment moment = {
        (index ? INT64_C(1794513600000) : INT64_C(1791835200000)) + (int64_t)r * 60000, 0};
    assert_int_equal(
        sr_history_add_round(history, phrase, judged.assessment, r, &practice, NULL, &moment, NULL),
        SR_OK);
  }
  assert_int_equal(sr_history_take_saved(history, path, NULL), SR_OK);
  sr_judged_take_clear(&judged);
  return path;
}

/// Keep a take of a round that was broken off, later than all others. Nobody reads its file.
static void
keep_unfinished(SrHistory* const history, const SrPhrase* const phrase)
{
  unfinished = folder_path(takes_folder, "2026-12-12-200000-jig.flac");
  file_put(unfinished, "not read");
  const SrPractice practice = {.asked_bpm = (double)NAN, .take = unfinished};
  const SrUnfinishedRound round = {6, 2.5};
  const SrMoment moment = {INT64_C(1797105600000), 0};
  assert_int_equal(sr_history_add_unfinished(history, phrase, &round, &practice, &moment, NULL),
                   SR_OK);
  assert_int_equal(sr_history_take_saved(history, unfinished, NULL), SR_OK);
}

static int
begin(void** const state)
{
  (void)state;
  data = folder_make();
  setenv("XDG_DATA_HOME", data, 1);
  char* const own = folder_path(data, "steadyreed");
  takes_folder = folder_path(own, "takes");
  phrase_path = folder_path(data, "jig.abc");
  assert_int_equal(mkdir(own, 0700), 0);
  assert_int_equal(mkdir(takes_folder, 0700), 0);
  free(own);
  file_put(phrase_path, made_phrase);
  check(RUN("--list"), 0, "No take of this phrase is kept.");
  check(RUN("best", "latest"), 1, "neither a recording nor a kept take");
  SrHistory* history = NULL;
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_phrase_read_file(phrase_path, NULL, &phrase, NULL), SR_OK);
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  takes[0] = keep_take(history, phrase, 0);
  ProgramRun one = RUN("--list");
  assert_non_null(strstr(one.output, "  1  12 October 2026, best, latest: 1 round"));
  run_clear(&one);
  check(RUN("1", "2"), 1, "\"2\" is neither");
  takes[1] = keep_take(history, phrase, 1);
  keep_unfinished(history, phrase);
  sr_history_close(history);
  sr_phrase_del(phrase);
  return 0;
}

static int
end(void** const state)
{
  (void)state;
  for (size_t t = 0; t < 2; ++t) {
    unlink(takes[t]);
    free(takes[t]);
  }
  unlink(unfinished);
  free(unfinished);
  folder_remove(takes_folder);
  char* const own = folder_path(data, "steadyreed");
  folder_remove(own);
  folder_remove(data);
  free(own);
  free(takes_folder);
  free(phrase_path);
  free(data);
  return 0;
}

static void
takes_are_found(void** const state)
{
  (void)state;
  // Both clean: the faster one is the best, and the latest as well. Of an unfinished round there is
  // nothing to set beside them
  check(RUN("--list"), 0, "2 12 November 2026, best, latest: 2 rounds, 2026-11-12-200000-jig.flac");
  ProgramRun usual = run_program((const char* const[]){program, "beside", phrase_path, NULL});
  text_squeeze(usual.output);
  assert_int_equal(usual.status, 0);
  assert_non_null(strstr(usual.output, "first 12 October 2026: 1 round second 12 November 2026, "
                                       "best, latest: 2 rounds"));
  assert_non_null(strstr(usual.output, "The second take is faster (100 pulses a minute, not 80)"));
  assert_non_null(strstr(usual.output, "tempo, /min 80 100 +20 *"));
  assert_non_null(strstr(usual.output, "clean cuts, % 100 100 0"));
  assert_non_null(strstr(usual.output, "Fisher's exact test"));
  assert_non_null(strstr(usual.trouble, "The latest take is the best as well"));
  run_clear(&usual);
  usual = RUN("1", "1");
  // Where nothing is starred, there is nothing for the note to explain
  assert_int_equal(usual.status, 0);
  assert_null(strstr(usual.output, "Fisher"));
  assert_string_equal(usual.trouble, "");
  run_clear(&usual);
  check(RUN("latest", "1"), 0, "The second take is slower (80 pulses a minute, not 100)");
  check(RUN("2026-10-12-200000-jig", "best"), 0, "is faster (100 pulses a minute, not 80)");
  check(RUN(takes[0], takes[0]), 0, "The two takes differ by no more than chance.");
  check(RUN("1", "7"), 1, "\"7\" is neither a recording nor a kept take");
  check(RUN("1"), 2, "name two takes, or none");
  check(RUN("--hear", "2"), 2, "--hear says what is heard; add --play or --sound");
  check(RUN("--list", "--page", "x.pdf"), 2, "--list goes with a phrase alone");
  // Other bars are another phrase to the history
  check(
      RUN("--bars", "1-2", "--list"), 0,
      "No take of this phrase is kept. Of this tune there are kept, with what to type: --bars all "
      "2 takes");
  check(RUN("--bars", "1-2"), 1, "--bars all 2 takes");
  check(RUN("--bars", "1-2", takes[0], takes[1]), 0, "is faster");
}

static void
lines_fit(void** const state)
{
  (void)state;
  static const unsigned short widths[] = {40, 80};
  for (size_t i = 0; i < 2; ++i) {
    const char* const arguments[] = {program, "beside", phrase_path, NULL};
    ProgramRun run = run_on_terminal(arguments, widths[i]);
    assert_int_equal(run.status, 0);
    if (widest_line(run.output) > widths[i]) {
      fail_msg("%zu columns on %u:\n%s", widest_line(run.output), widths[i], run.output);
    }
    text_squeeze(run.output);
    assert_non_null(strstr(run.output, "is faster (100 pulses a minute, not 80)"));
    run_clear(&run);
  }
}

static void
page_is_written(void** const state)
{
  (void)state;
  char* const page = folder_path(data, "both.pdf");
  check(RUN("--page", page), 0, "is faster");
  if (pdf_to_text) {
    check(run_program((const char* const[]){pdf_to_text, "-raw", page, "-", NULL}), 0,
          "The second take is faster (100 pulses a minute, not 80)");
  }
  check(RUN("--page", takes[0]), 1, "use .pdf, .svg or .png");
  check(RUN(takes[0], takes[1], "--sound", takes[1]), 2, "2026-11-12");
  unlink(page);
  free(page);
}

/// Onsets that aubio's program finds.
static size_t
find_onsets(const char* const path, double* const onsets, const size_t most)
{
  ProgramRun run = run_program(
      (const char* const[]){onset_finder, "-i", path, "-O", "specflux", "-t", "0.5", NULL});
  assert_int_equal(run.status, 0);
  size_t count = 0;
  char* rest = run.output;
  for (char* line; count < most && (line = strsep(&rest, "\n"));) {
    if (*line) {
      onsets[count++] = strtod(line, NULL);
    }
  }
  run_clear(&run);
  return count;
}

/// Every stretch must begin with an onset.
static void
check_onsets(const char* const path, const double* const begins, const size_t count)
{
  double onsets[256];
  const size_t found = onset_finder ? find_onsets(path, onsets, 256) : 0;
  double worst_s = 0.0;
  for (size_t i = 0; i < count && onset_finder; ++i) {
    double least_s = (double)INFINITY;
    for (size_t k = 0; k < found; ++k) {
      least_s = fmin(least_s, fabs(onsets[k] - begins[i]));
    }
    worst_s = fmax(worst_s, least_s);
  }
  print_message("%zu bars begin within %.0f ms of an onset of aubio's (limit 50)\n", count,
                1e3 * worst_s);
  assert_true(worst_s <= 0.05);
}

static double
seconds_of(const char* const path)
{
  SF_INFO info = {0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  assert_non_null(file);
  sf_close(file);
  return (double)info.frames / info.samplerate;
}

static void
bars_are_heard_in_turn(void** const state)
{
  (void)state;
  char* const wav = folder_path(data, "both.wav");
  // Bars 1 to 3, of two pulses each, with what stands in in_turn.h around them
  double begins[6];
  double at_s = 0.2;
  for (size_t i = 0; i < 6; ++i) {
    begins[i] = at_s + 0.008;
    at_s = begins[i] + 120.0 / tempos[i % 2] + (i % 2 ? 0.8 : 0.4);
  }
  check(RUN("1", "2", "--sound", wav, "--hear", "1-3"), 0, "bar by bar");
  assert_true(fabs(seconds_of(wav) - (at_s - 0.8 + 0.2)) < 0.03);
  check_onsets(wav, begins, 6);
  check(RUN("1", "2", "--sound", wav, "--hear", "2-3", "--whole"), 0, "all bars of each");
  const double whole[2] = {0.208, 0.208 + 240.0 / tempos[0] + 0.4 + 0.008};
  check_onsets(wav, whole, 2);
  if (sr_slow_is_built()) {
    // The faster one lasts as long as the other
    const double factor = (double)tempos[1] / tempos[0];
    at_s = 0.2;
    for (size_t i = 0; i < 6; ++i) {
      begins[i] = at_s + (i % 2 ? 0.008 * factor : 0.008);
      at_s = begins[i] + 120.0 / tempos[0] + (i % 2 ? 0.8 : 0.4);
    }
    check(RUN("1", "2", "--sound", wav, "--hear", "1-3", "--same-tempo"), 0, "bar by bar");
    assert_true(fabs(seconds_of(wav) - (at_s - 0.8 + 0.2)) < 0.04);
    check_onsets(wav, begins, 6);
  }
  check(RUN("1", "2", "--sound", wav, "--hear", "9"), 1, "None of these bars");
  unlink(wav);
  free(wav);
}

int
main(const int argc, char** const argv)
{
  if (argc < 2) {
    fprintf(stderr, "usage: test_beside STEADYREED [PDFTOTEXT] [AUBIOONSET]\n");
    return 1;
  }
  setlocale(LC_ALL, "C.UTF-8");
  program = argv[1];
  pdf_to_text = argc > 2 && *argv[2] ? argv[2] : NULL;
  onset_finder = argc > 3 && *argv[3] ? argv[3] : NULL;
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(takes_are_found),
      cmocka_unit_test(lines_fit),
      cmocka_unit_test(page_is_written),
      cmocka_unit_test(bars_are_heard_in_turn),
  };
  char* const config = config_begin();
  const int failed = cmocka_run_group_tests(tests, begin, end);
  config_end(config);
  return failed;
}
