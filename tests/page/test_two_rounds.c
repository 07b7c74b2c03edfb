// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_two_rounds.c
   Two rounds one above the other: their bars stand under each other whatever their tempo, and the
   page of two takes says what it should.

   usage: test_two_rounds [PDFTOTEXT]
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_round.h"
#include "run_program.h"

#include <steadyreed/two_rounds.h>
#include <steadyreed/two_takes_page.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char* pdf_to_text;
static MadeRound made[2];

/// Two rounds, the second half as fast again, later and with faults.
static void
make(const char* const abc)
{
  made_round_make(&made[0], abc, 1);
  made_round_make(&made[1], abc, 1);
  SrRound* const round = &made[1].rounds[0];
  round->pulse.played_bpm *= 1.5;
  for (size_t i = 0; i < round->note_count; ++i) {
    round->notes[i].due_s = 5.0 + round->notes[i].due_s / 1.5;
    round->notes[i].onset_s = 5.0 + round->notes[i].onset_s / 1.5;
    round->notes[i].end_s = 5.0 + round->notes[i].end_s / 1.5;
  }
  made_round_put(&made[1], 0, 2, OUTCOME_LONG);
  made_round_put(&made[1], 0, 4, OUTCOME_LATE);
  // A row more than the first has
  made_round_slip(&made[1], 0, SR_SLIP_HESITATION, 3);
}

static void
clear(void)
{
  made_round_clear(&made[0]);
  made_round_clear(&made[1]);
}

static void
picture(SrPicturedRound pictured[2])
{
  for (size_t t = 0; t < 2; ++t) {
    pictured[t] = (SrPicturedRound){
        .phrase = made[t].phrase, .round = &made[t].rounds[0], .reached = SR_REACHED_ALL};
  }
}

/// Check every bar at a size.
static void
check_bars(const double width, const double height)
{
  SrPicturedRound pictured[2];
  picture(pictured);
  SrTwoRounds* rounds = NULL;
  assert_int_equal(sr_two_rounds_new(pictured, NULL, width, height, &rounds, NULL), SR_OK);
  assert_true(sr_two_rounds_height(rounds) <= height + 1e-6);
  double last_bottom = 0.0;
  double line_top = -1.0;
  for (size_t bar = 0; bar < sr_phrase_bar_count(made[0].phrase); ++bar) {
    SrRoundBox one;
    SrRoundBox other;
    const bool drawn = sr_two_rounds_bar(rounds, 0, bar, &one);
    assert_true(drawn == sr_two_rounds_bar(rounds, 1, bar, &other));
    if (!drawn) {
      continue; // A repeat that is only named
    }
    assert_true(fabs(one.left - other.left) < 1e-9);
    assert_true(fabs(one.width - other.width) < 1e-9);
    assert_true(one.left >= 0.0 && one.left + one.width <= width + 1e-6);
    assert_true(one.top + one.height <= other.top + 1e-6);
    if (one.top > line_top) { // The next line
      assert_true(one.top >= last_bottom - 1e-6);
      line_top = one.top;
    }
    last_bottom = other.top + other.height;
    assert_int_equal(sr_two_rounds_bar_at(rounds, one.left + one.width / 2.0, one.top + 2.0), bar);
    assert_int_equal(sr_two_rounds_bar_at(rounds, other.left + other.width / 2.0,
                                          other.top + other.height - 2.0),
                     bar);
  }
  assert_true(last_bottom <= sr_two_rounds_height(rounds) + 1e-6);
  cairo_surface_t* const surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
  cairo_t* const cairo = cairo_create(surface);
  assert_int_equal(sr_two_rounds_draw(rounds, cairo, 0.0, 0.0), SR_OK);
  assert_int_equal(cairo_status(cairo), CAIRO_STATUS_SUCCESS);
  cairo_destroy(cairo);
  cairo_surface_destroy(surface);
  sr_two_rounds_del(rounds);
}

static void
bars_stand_under_each_other(void** const state)
{
  (void)state;
  static const char* const texts[] = {made_jig, made_runs, made_tune};
  for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); ++i) {
    make(texts[i]);
    check_bars(535.0, 320.0);
    check_bars(1240.0, (double)INFINITY);
    check_bars(330.0, (double)INFINITY);
    check_bars(300.0, 90.0);
    clear();
  }
}

static void
unlike_rounds_are_refused(void** const state)
{
  (void)state;
  static MadeRound other;
  SrPicturedRound pictured[2];
  SrTwoRounds* rounds = NULL;
  make(made_jig);
  made_round_make(&other, made_runs, 1);
  picture(pictured);
  pictured[1].phrase = other.phrase;
  pictured[1].round = &other.rounds[0];
  assert_int_equal(sr_two_rounds_new(pictured, NULL, 500.0, 300.0, &rounds, NULL), SR_BAD_ARGUMENT);
  assert_null(rounds);
  picture(pictured);
  assert_int_equal(sr_two_rounds_new(pictured, NULL, 10.0, 300.0, &rounds, NULL), SR_BAD_ARGUMENT);
  made_round_clear(&other);
  clear();
}

/// A page in each format, with more faults than it has room for.
static void
page_says_what_differs(void** const state)
{
  (void)state;
  static const char* const names[] = {"both.pdf", "both.svg", "both.png"};
  make(made_tune);
  made_round_spoil(&made[1], 0);
  SrTwoTakes two;
  SrTwoTakesPage page = {.shown = {.phrases = {made[0].phrase, made[1].phrase},
                                   .names = {"12 October 2026, best", "29 November 2026, latest"},
                                   .played = {{made[0].rounds, 1}, {made[1].rounds, 1}},
                                   .two = &two}};
  assert_int_equal(sr_two_takes_compare(made[0].phrase, page.shown.played, &two, NULL), SR_OK);
  char* const folder = folder_make();
  for (size_t i = 0; i < 3; ++i) {
    char* const path = folder_path(folder, names[i]);
    SrError error = {0};
    if (sr_page_two_takes(path, &page, &error) != SR_OK) {
      fail_msg("%s", error.message);
    }
    struct stat status;
    assert_int_equal(stat(path, &status), 0);
    assert_true(status.st_size > 5000);
    if (i == 0 && pdf_to_text) {
      const char* const arguments[] = {pdf_to_text, "-raw", path, "-", NULL};
      ProgramRun run = run_program(arguments);
      assert_int_equal(run.status, 0);
      text_squeeze(run.output);
      char sentence[SR_TWO_SENTENCE_SIZE];
      const char* const words[] = {sr_two_sentence(&two, sentence),
                                   "12 October 2026, best: 1 round",
                                   "29 November 2026, latest: 1 round",
                                   "1st",
                                   "2nd",
                                   "What went wrong",
                                   "notes right, %",
                                   "and in ",
                                   "Fisher's exact test"};
      for (size_t w = 0; w < sizeof(words) / sizeof(words[0]); ++w) {
        if (!strstr(run.output, words[w])) {
          fail_msg("no \"%s\" in:\n%s", words[w], run.output);
        }
      }
      run_clear(&run);
    }
    free(path);
  }
  char* const other = folder_path(folder, "both.doc");
  assert_int_equal(sr_page_two_takes(other, &page, NULL), SR_UNSUPPORTED);
  free(other);
  folder_remove(folder);
  free(folder);
  clear();
}

int
main(const int argc, char** const argv)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bars_stand_under_each_other),
      cmocka_unit_test(unlike_rounds_are_refused),
      cmocka_unit_test(page_says_what_differs),
  };
  pdf_to_text = argc > 1 && *argv[1] ? argv[1] : NULL;
  return cmocka_run_group_tests(tests, NULL, NULL);
}
