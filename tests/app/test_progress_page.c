// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_progress_page.c
   `progress --page` over an invented month: what is on the pages, which files there are, and that
   the history is not written over.

   usage: test_progress_page STEADYREED [PDFTOTEXT [PDFFONTS]]
*/

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "invented_month.h"
#include "run_program.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* program;
static const char* pdf_to_text;
static const char* pdf_fonts;
static char* data;
static char* folder;
static char* takes;
static char* config;
static char* out;

/// A path in the folder of pages; of the last sixteen that were asked for.
static const char*
at(const char* const name)
{
  static char paths[16][1024];
  static size_t next;
  char* const path = paths[next++ % 16];
  snprintf(path, sizeof(paths[0]), "%s/%s", out, name);
  return path;
}

static bool
is_there(const char* const name)
{
  return access(at(name), F_OK) == 0;
}

#define RUN(...) run_program((const char* const[]){program, "progress", __VA_ARGS__, NULL})

static int
prepare(void** const state)
{
  (void)state;
  setenv("TZ", "UTC", 1);
  config = config_begin();
  data = folder_make();
  out = folder_make();
  folder = folder_path(data, "steadyreed");
  takes = folder_path(folder, "takes");
  return setenv("XDG_DATA_HOME", data, 1);
}

static int
clean_up(void** const state)
{
  (void)state;
  config_end(config);
  folder_remove(takes);
  folder_remove(folder);
  folder_remove(data);
  folder_remove(out);
  free(takes);
  free(folder);
  free(data);
  free(out);
  return 0;
}

static void
without_a_history_there_is_no_page(void** const state)
{
  (void)state;
  ProgramRun run = RUN("--page", at("none.pdf"));
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.output, "Nothing has been practised yet"));
  assert_non_null(strstr(run.trouble, "No page was written"));
  assert_false(is_there("none.pdf"));
  run_clear(&run);
  invented_month(takes);
}

/// The report is the same with a page as without one, and its sentences are on the pages.
static void
a_page_for_each_phrase(void** const state)
{
  (void)state;
  ProgramRun plain = RUN("--days", "3");
  ProgramRun paged = RUN("--days", "3", "--page", at("all.pdf"));
  assert_int_equal(paged.status, 0);
  assert_string_equal(paged.output, plain.output);
  assert_string_equal(paged.trouble, "");
  run_clear(&plain);
  run_clear(&paged);
  if (!pdf_to_text) {
    skip();
  }
  ProgramRun run =
      run_program((const char* const[]){pdf_to_text, "-raw", at("all.pdf"), "-", NULL});
  assert_int_equal(run.status, 0);
  // Three phrases, and pdftotext ends each page with a form feed
  size_t pages = 0;
  for (const char* c = run.output; *c; ++c) {
    pages += *c == '\f';
  }
  assert_int_equal(pages, 3);
  text_squeeze(run.output);
  static const char* const SAID[] = {"The Lamp in the Porch, bars 1 to 3",
                                     "clean cuts (from 43 to 90 percent)",
                                     "20 days · 80 rounds",
                                     "Clean tempo",
                                     "best 88,",
                                     "Clean cuts",
                                     "Spread",
                                     "Ahead or behind",
                                     "Time alone",
                                     "Audible air",
                                     "How it was measured",
                                     "Too few days to say what got better: 2 in the last 30",
                                     "First Cuts, bars 1 to 3"};
  for (size_t i = 0; i < sizeof(SAID) / sizeof(SAID[0]); ++i) {
    if (!strstr(run.output, SAID[i])) {
      fail_msg("no \"%s\" in:\n%s", SAID[i], run.output);
    }
  }
  assert_null(strstr(run.output, "Long Ago"));
  run_clear(&run);
  if (pdf_fonts) {
    // Columns: name type encoding emb sub uni
    run = run_program((const char* const[]){pdf_fonts, at("all.pdf"), NULL});
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.output, " yes yes yes "));
    assert_null(strstr(run.output, " no "));
    run_clear(&run);
  }
}

/// The reel had no click and no air: nothing is drawn of these.
static void
what_was_not_measured_has_no_chart(void** const state)
{
  (void)state;
  if (!pdf_to_text) {
    skip();
  }
  ProgramRun run = RUN("Reel", "--page", at("reel.pdf"));
  assert_int_equal(run.status, 0);
  run_clear(&run);
  run = run_program((const char* const[]){pdf_to_text, "-raw", at("reel.pdf"), "-", NULL});
  assert_non_null(strstr(run.output, "Clean cuts"));
  assert_null(strstr(run.output, "Time alone"));
  assert_null(strstr(run.output, "Ahead or behind"));
  assert_null(strstr(run.output, "Audible air"));
  run_clear(&run);
}

static void
all_phrases_and_one(void** const state)
{
  (void)state;
  ProgramRun run = RUN("--all", "--page", at("a.svg"));
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "Wrote 4 pages"));
  assert_true(is_there("a-1.svg") && is_there("a-4.svg") && !is_there("a.svg"));
  run_clear(&run);
  run = RUN("lamp", "--page", at("one.PNG"));
  assert_int_equal(run.status, 0);
  assert_true(is_there("one.PNG") && !is_there("one-1.PNG"));
  run_clear(&run);
}

static void
refused(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    const char* title;
    int status;
    const char* words;
  } CASES[] = {
      {"page.txt", "lamp", 1, ".pdf, .svg or .png"},
      {"page.pdf", "no such title", 1, "No page was written"},
      {"none/page.pdf", "lamp", 1, "none"},
      {"link.pdf", "lamp", 2, "is being read, so it is not overwritten"},
  };
  char* const history = folder_path(folder, "history.sqlite");
  struct stat before;
  assert_int_equal(symlink(history, at("link.pdf")), 0);
  assert_int_equal(stat(history, &before), 0);
  for (size_t i = 0; i < sizeof(CASES) / sizeof(CASES[0]); ++i) {
    ProgramRun run = RUN(CASES[i].title, "--page", at(CASES[i].name));
    if (run.status != CASES[i].status || !strstr(run.trouble, CASES[i].words)) {
      fail_msg("%s: status %d, \"%s\"", CASES[i].name, run.status, run.trouble);
    }
    run_clear(&run);
  }
  assert_false(is_there("page.pdf"));
  // It is a history still
  ProgramRun run = RUN("lamp");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "The Lamp in the Porch"));
  run_clear(&run);
  run = RUN("--takes", "--page", at("page.pdf"));
  assert_int_equal(run.status, 2);
  run_clear(&run);
  free(history);
}

int
main(const int argc, char** const argv)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(without_a_history_there_is_no_page),
      cmocka_unit_test(a_page_for_each_phrase),
      cmocka_unit_test(what_was_not_measured_has_no_chart),
      cmocka_unit_test(all_phrases_and_one),
      cmocka_unit_test(refused),
  };
  if (argc < 2) {
    return 2;
  }
  program = argv[1];
  pdf_to_text = argc > 2 && argv[2][0] ? argv[2] : NULL;
  pdf_fonts = argc > 3 && argv[3][0] ? argv[3] : NULL;
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
