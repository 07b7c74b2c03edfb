// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_take_page.c
   The page of a take: what is on it, that everything has room, and its files.

   usage: test_take_page [PDFTOTEXT]
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_round.h"
#include "run_program.h"
#include "talk.h"

#include "show/picture_file.h"
#include "show/take_sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MARGIN 24.0

static const char* pdf_to_text;
static MadeRound made;
static double level[60];
static SrLevelCurve curves[SR_PAGE_MOST_CURVES];
static const char* const remarks[] = {
    "the recording is overdriven in 12 places; what is lost there is not held against you.",
    "this was played a fifth higher than written, and is judged that way. If your box is in that "
    "key, use --transpose 7"};

/// The page of what was made, with as many curves as it has faulty cuts.
static SrTakePage
page_of(void)
{
  size_t notes[SR_PAGE_MOST_CURVES];
  const SrAssessment* const assessment = &made.assessment;
  const SrRound* const round = &assessment->rounds[sr_page_round(assessment)];
  const SrTakePage page = {
      .take = {.path = made.path, .phrase = made.phrase, .assessment = assessment},
      .date = "3 May 2026",
      .remark = "",
      .curves = curves,
      .curve_count = sr_page_faulty_cuts(round, notes)};
  for (size_t i = 0; i < page.curve_count; ++i) {
    const double middle_s = sr_page_curve_middle_s(&round->notes[notes[i]]);
    curves[i] = (SrLevelCurve){middle_s - SR_PAGE_CURVE_BEFORE_S, level, 60};
  }
  return page;
}

static void
hear_page(const SrTakePage* const page, Talk* const talk)
{
  memset(talk, 0, sizeof(*talk));
  SrTakeSheet* sheet = NULL;
  assert_int_equal(sr_take_sheet_new(page, &sheet, NULL), SR_OK);
  cairo_surface_t* const surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
  cairo_t* const cairo = cairo_create(surface);
  SrPen pen;
  assert_true(sr_pen_begin(&pen, cairo));
  pen.said = talk_hear;
  pen.said_context = talk;
  sr_take_sheet_draw(sheet, &pen);
  sr_pen_end(&pen);
  double left;
  double top;
  double width;
  double height;
  cairo_recording_surface_ink_extents(surface, &left, &top, &width, &height);
  assert_true(left >= MARGIN && top >= MARGIN);
  assert_true(left + width <= SR_A4_SHORT - MARGIN && top + height <= SR_A4_LONG - MARGIN);
  cairo_destroy(cairo);
  cairo_surface_destroy(surface);
  sr_take_sheet_del(sheet);
}

static void
check_apart(const char* const name, const Talk* const talk)
{
  for (size_t i = 0; i < talk->count; ++i) {
    const SrArea* const one = &talk->said[i].letters;
    for (size_t k = 0; k < i; ++k) {
      if (sr_area_meets(&talk->said[k].letters, one, -0.1)) {
        print_error("%s: “%s” lies on “%s” at %.1f, %.1f\n", name, talk->said[i].text,
                    talk->said[k].text, one->left, one->top);
        fail();
      }
    }
  }
}

static bool
is_said(const Talk* const talk, const char* const text)
{
  for (size_t i = 0; i < talk->count; ++i) {
    if (!strcmp(talk->said[i].text, text)) {
      return true;
    }
  }
  return false;
}

/// Lines of the list of faults, and how many more it says there are.
static size_t
count_listed(const Talk* const talk, size_t* const more)
{
  size_t count = 0;
  *more = 0;
  for (size_t i = 0; i < talk->count; ++i) {
    const Said* const said = &talk->said[i];
    if (!strncmp(said->text, "and ", 4)) {
      *more = strtoul(said->text + 4, NULL, 10);
    }
    count += !strncmp(said->text, "bar ", 4) && !strchr(said->text, ',') &&
                     said->letters.left < MARGIN + 8.0
                 ? 1
                 : 0;
  }
  return count;
}

// What is on it ----------------------------------------------------------------------------------

static void
everything_has_room(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    const char* abc;
    size_t rounds;
    bool spoilt;
    bool long_words;
    bool remarked;
  } CASES[] = {
      {"clean", made_jig, 1, false, false, false},     {"spoilt", made_jig, 1, true, false, false},
      {"several", made_jig, 5, true, false, true},     {"many", made_jig, 24, true, true, true},
      {"tune", made_tune, 1, true, false, true},       {"tunes", made_tune, 12, true, true, true},
      {"long words", made_jig, 2, false, true, false},
  };
  for (size_t i = 0; i < sizeof(CASES) / sizeof(CASES[0]); ++i) {
    made_round_make(&made, CASES[i].abc, CASES[i].rounds);
    for (size_t r = 0; r < CASES[i].rounds && CASES[i].spoilt; ++r) {
      made_round_spoil(&made, r);
    }
    if (CASES[i].long_words) {
      snprintf(made.title, sizeof(made.title), "%s",
               "The Very Long Way Round by the Upper Bridge, the Lower Bridge and the Old Mill, as "
               "It Was Played When the River Was High and Nobody Could Get Home");
      snprintf(
          made.advice, sizeof(made.advice), "%s",
          "bar 12, the second F♯ (L2-4, draw): air heard, 21 dB louder than the note can hide, "
          "the note dipped by 5 dB and the next one, which was due while it was taken, did not "
          "speak (one of 17); press the button less, and sooner, and hold the bellows still");
    }
    SrTakePage page = page_of();
    page.take.remarks = remarks;
    page.take.remark_count = CASES[i].remarked ? 2 : 0;
    page.remark = CASES[i].long_words ? "part A, across the rows" : "";
    Talk talk;
    hear_page(&page, &talk);
    check_apart(CASES[i].name, &talk);
    assert_true(is_said(&talk, made.title) || CASES[i].long_words);
    talk_clear(&talk);
    made_round_clear(&made);
  }
}

static void
the_worst_round_is_the_large_one(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 4);
  made_round_put(&made, 0, 9, OUTCOME_MISSED);
  made_round_put(&made, 2, 7, OUTCOME_WRONG);
  made.rounds[2].scores.cuts = 12.0;
  const SrTakePage page = page_of();
  Talk talk;
  hear_page(&page, &talk);
  assert_int_equal(sr_page_round(&made.assessment), 2);
  assert_true(is_said(&talk, "Round 3 of 4, from 2:00.5"));
  assert_true(is_said(&talk, "12"));
  assert_true(is_said(&talk, "91"));
  size_t more = 0;
  assert_int_equal(count_listed(&talk, &more), 1);
  assert_true(is_said(&talk, "wrong note: C♯ was heard") ||
              is_said(&talk, "wrong note: D♭ was heard"));
  assert_int_equal(more, 0);
  talk_clear(&talk);
  made_round_clear(&made);
}

/// The words of the advice are the tallest, and there.
static void
the_advice_is_the_largest(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 1);
  made_round_spoil(&made, 0);
  const SrTakePage page = page_of();
  Talk talk;
  hear_page(&page, &talk);
  char words[512] = "";
  double least = (double)INFINITY;
  double most = 0.0;
  made.advice[0] = 'B';
  for (size_t i = 0; i < talk.count; ++i) {
    const Said* const said = &talk.said[i];
    const bool advice = strlen(said->text) > 3 && strstr(made.advice, said->text);
    if (advice) {
      const size_t used = strlen(words);
      snprintf(words + used, sizeof(words) - used, "%s%s", used ? " " : "", said->text);
      least = fmin(least, said->letters.height);
    } else {
      most = fmax(most, said->letters.height);
    }
  }
  assert_string_equal(words, made.advice);
  assert_true(least > most);
  talk_clear(&talk);
  made_round_clear(&made);
}

/// What does not fit into the list is counted.
static void
the_list_says_how_many_more(void** const state)
{
  (void)state;
  size_t all = 0;
  for (size_t faults = 2; faults <= 22; faults += 5) {
    made_round_make(&made, made_jig, 3);
    for (size_t i = 0; i < faults; ++i) {
      made_round_put(&made, 0, i, i % 2 ? OUTCOME_WRONG : OUTCOME_ABSENT);
    }
    made.rounds[0].scores.cuts = 0.0;
    const SrTakePage page = page_of();
    Talk talk;
    hear_page(&page, &talk);
    size_t more = 0;
    const size_t listed = count_listed(&talk, &more);
    assert_int_equal(listed + more, faults);
    assert_true(listed >= 2);
    all += more;
    talk_clear(&talk);
    made_round_clear(&made);
  }
  assert_true(all > 0);
}

static void
faulty_cuts_have_curves(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 1);
  size_t notes[SR_PAGE_MOST_CURVES];
  assert_int_equal(sr_page_faulty_cuts(&made.rounds[0], notes), 0);
  made_round_put(&made, 0, 1, OUTCOME_LONG);
  made_round_put(&made, 0, 4, OUTCOME_JOINED);
  made_round_put(&made, 0, 6, OUTCOME_MISSED);
  assert_int_equal(sr_page_faulty_cuts(&made.rounds[0], notes), 2);
  assert_int_equal(notes[0], 1);
  assert_int_equal(notes[1], 4);
  const SrTakePage page = page_of();
  Talk talk;
  hear_page(&page, &talk);
  assert_true(is_said(&talk, "bar 1, 2nd F♯: long"));
  assert_true(is_said(&talk, "the cut: 90 ms"));
  assert_true(is_said(&talk, "bar 1, 2nd D: joined"));
  assert_true(is_said(&talk, "no cut heard"));
  talk_clear(&talk);
  made_round_put(&made, 0, 10, OUTCOME_LONG);
  made_round_put(&made, 0, 13, OUTCOME_LONG);
  made_round_put(&made, 0, 16, OUTCOME_LONG);
  assert_int_equal(sr_page_faulty_cuts(&made.rounds[0], notes), SR_PAGE_MOST_CURVES);
  made_round_clear(&made);
}

// Files ------------------------------------------------------------------------------------------

static char*
read_all(const char* const path)
{
  FILE* const file = fopen(path, "rb");
  assert_non_null(file);
  fseek(file, 0, SEEK_END);
  const size_t size = (size_t)ftell(file);
  rewind(file);
  char* const text = calloc(size + 1, 1);
  assert_non_null(text);
  assert_int_equal(fread(text, 1, size, file), size);
  fclose(file);
  return text;
}

static void
words_can_be_taken_from_a_pdf(void** const state)
{
  (void)state;
  if (!pdf_to_text) {
    skip();
  }
  char* const folder = folder_make();
  char* const path = folder_path(folder, "two.pdf");
  made_round_make(&made, made_jig, 1);
  made_round_spoil(&made, 0);
  SrTakePage pages[2] = {page_of(), page_of()};
  pages[1].date = "4 May 2026";
  assert_int_equal(sr_page_takes(path, pages, 2, NULL), SR_OK);
  const char* const arguments[] = {pdf_to_text, "-raw", path, "-", NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 0);
  text_squeeze(run.output);
  made.advice[0] = 'B';
  assert_non_null(strstr(run.output, made.advice));
  assert_non_null(strstr(run.output, made.title));
  assert_non_null(strstr(run.output, "3 May 2026"));
  assert_non_null(strstr(run.output, "4 May 2026"));
  assert_non_null(strstr(run.output, "the box's A is 441.2 Hz"));
  assert_non_null(strstr(run.output, "90 pulses a minute"));
  assert_non_null(strstr(run.output, "Scores out of 100 83"));
  assert_non_null(strstr(run.output, "tuesday.wav"));
  run_clear(&run);
  made_round_clear(&made);
  folder_remove(folder);
  free(path);
  free(folder);
}

static void
a_missed_note_is_dashed(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const path = folder_path(folder, "page.svg");
  for (int missed = 0; missed < 2; ++missed) {
    made_round_make(&made, made_jig, 1);
    if (missed) {
      made_round_put(&made, 0, 8, OUTCOME_MISSED);
    }
    const SrTakePage page = page_of();
    assert_int_equal(sr_page_takes(path, &page, 1, NULL), SR_OK);
    char* const text = read_all(path);
    size_t dashed = 0;
    for (const char* at = text; (at = strstr(at, "dasharray")); ++at) {
      ++dashed;
    }
    // In the picture and in its key
    assert_int_equal(dashed, missed ? 2 : 0);
    free(text);
    made_round_clear(&made);
  }
  folder_remove(folder);
  free(path);
  free(folder);
}

static void
names_of_files(void** const state)
{
  (void)state;
  static const struct {
    const char* path;
    size_t number;
    const char* name;
  } NAMES[] = {{"a.png", 0, "a.png"},
               {"a.png", 3, "a-3.png"},
               {"some.where/a.b.SVG", 12, "some.where/a.b-12.SVG"},
               {"a.pdf", 2, "a.pdf"}};
  for (size_t i = 0; i < sizeof(NAMES) / sizeof(NAMES[0]); ++i) {
    char* const name = sr_page_take_path(NAMES[i].path, NAMES[i].number);
    assert_string_equal(name, NAMES[i].name);
    free(name);
  }
  assert_int_equal(sr_page_check("a.pdf", NULL), SR_OK);
  assert_int_equal(sr_page_check("a.wav", NULL), SR_UNSUPPORTED);
  assert_int_equal(sr_page_check("png", NULL), SR_UNSUPPORTED);
}

/// If the last of several files cannot be written, the first is not there, and an older one stays.
static void
all_files_or_none(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const path = folder_path(folder, "take.png");
  char* const first = folder_path(folder, "take-1.png");
  char* const second = folder_path(folder, "take-2.png");
  made_round_make(&made, made_jig, 1);
  SrTakePage pages[2] = {page_of(), page_of()};
  pages[0].number = 1;
  pages[1].number = 2;
  assert_int_equal(mkdir(second, 0700), 0);
  SrError error = {0};
  assert_int_not_equal(sr_page_takes(path, pages, 2, &error), SR_OK);
  assert_non_null(strstr(error.file, "take-2.png"));
  assert_int_not_equal(access(first, F_OK), 0);
  assert_int_equal(rmdir(second), 0);
  // What fails only once the first is in place
  if (access("/dev/full", W_OK) == 0) {
    assert_int_equal(symlink("/dev/full", second), 0);
    assert_int_equal(sr_page_takes(path, pages, 2, &error), SR_WRITE_FAILED);
    assert_int_not_equal(access(first, F_OK), 0);
    assert_int_equal(unlink(second), 0);
  }
  assert_int_equal(sr_page_takes(path, pages, 2, NULL), SR_OK);
  assert_int_equal(access(first, F_OK), 0);
  assert_int_equal(access(second, F_OK), 0);
  assert_int_not_equal(access(path, F_OK), 0);
  made.assessment.round_count = 0;
  unlink(first);
  unlink(second);
  assert_int_equal(sr_page_takes(path, pages, 2, NULL), SR_BAD_ARGUMENT);
  assert_int_not_equal(access(first, F_OK), 0);
  made_round_clear(&made);
  folder_remove(folder);
  free(path);
  free(first);
  free(second);
  free(folder);
}

// Levels -----------------------------------------------------------------------------------------

static void
levels_are_right(void** const state)
{
  (void)state;
  static float samples[44100];
  SrLevelCurve curve;
  // 0.1 s of a sine at half of full scale, 0.1 s at a tenth of that, silence, and a lost sample
  for (size_t i = 0; i < 44100; ++i) {
    const double scale = i < 4410 ? 0.5 : i < 8820 ? 0.05 : 0.0;
    samples[i] = (float)(scale * sin(2.0 * M_PI * 1000.0 * (double)i / 44100.0));
  }
  samples[40000] = (float)NAN;
  assert_int_equal(sr_level_curve(samples, 44100, 44100.0, 7.0, &curve), SR_OK);
  assert_int_equal(curve.count, 200);
  assert_true(fabs(curve.start_s - 7.0) < 1e-12);
  for (size_t i = 0; i < 200; ++i) {
    const double wanted = i < 20 ? -9.03 : i < 40 ? -29.03 : SR_LEVEL_LEAST_DB;
    assert_true(fabs(curve.level_db[i] - wanted) < 0.1);
  }
  sr_level_curve_clear(&curve);
  assert_int_equal(sr_level_curve(samples, 100, 999.0, 0.0, &curve), SR_BAD_ARGUMENT);
  assert_null(curve.level_db);
  assert_int_equal(sr_level_curve(samples, 100, 48000.0, 0.0, &curve), SR_OK);
  assert_int_equal(curve.count, 0);
  sr_level_curve_clear(&curve);
}

int
main(const int argc, char** const argv)
{
  pdf_to_text = argc > 1 && *argv[1] ? argv[1] : NULL;
  for (size_t i = 0; i < 60; ++i) {
    level[i] = -20.0 - 25.0 * exp(-pow(((double)i - 26.0) / 5.0, 2.0));
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(everything_has_room),
      cmocka_unit_test(the_worst_round_is_the_large_one),
      cmocka_unit_test(the_advice_is_the_largest),
      cmocka_unit_test(the_list_says_how_many_more),
      cmocka_unit_test(faulty_cuts_have_curves),
      cmocka_unit_test(words_can_be_taken_from_a_pdf),
      cmocka_unit_test(a_missed_note_is_dashed),
      cmocka_unit_test(names_of_files),
      cmocka_unit_test(all_files_or_none),
      cmocka_unit_test(levels_are_right),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
