// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_assess_page.c
   `assess --page`: which files there are, with other options, and that nothing read is written
   over.

   usage: test_assess_page STEADYREED PHRASE TAKE [PDFTOTEXT]
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"

#include <jansson.h>

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* program;
static const char* phrase;
static const char* take;
static const char* pdf_to_text;
static char* folder;

/// A path in the folder; of the last sixteen that were asked for.
static const char*
at(const char* const name)
{
  static char paths[16][1024];
  static size_t next;
  char* const path = paths[next++ % 16];
  snprintf(path, sizeof(paths[0]), "%s/%s", folder, name);
  return path;
}

static bool
is_there(const char* const name)
{
  return access(at(name), F_OK) == 0;
}

#define RUN(...) run_program((const char* const[]){program, "assess", __VA_ARGS__, NULL})

static void
copy_file(const char* const from, const char* const to)
{
  FILE* const in = fopen(from, "rb");
  FILE* const out = fopen(to, "wb");
  assert_non_null(in);
  assert_non_null(out);
  char bytes[65536];
  size_t size;
  while ((size = fread(bytes, 1, sizeof(bytes), in)) > 0) {
    assert_int_equal(fwrite(bytes, 1, size, out), size);
  }
  fclose(in);
  assert_int_equal(fclose(out), 0);
}

static int
empty(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(folder);
  folder = folder_make();
  return 0;
}

/// The report is the same with a page as without one, and the page is there.
static void
with_other_options(void** const state)
{
  (void)state;
  static const char* const FORMS[] = {"--all", "--json", "--csv"};
  static const char* const NAMES[] = {"a.pdf", "a.svg", "a.PNG"};
  static const char* const STARTS[] = {"%PDF-", "<?xml", "\x89PNG"};
  for (size_t i = 0; i < 3; ++i) {
    ProgramRun plain = RUN(phrase, take, FORMS[i]);
    ProgramRun paged = RUN(phrase, take, "--page", at(NAMES[i]), FORMS[i]);
    assert_int_equal(paged.status, 0);
    assert_string_equal(paged.output, plain.output);
    assert_string_equal(paged.trouble, plain.trouble);
    char start[5] = "";
    FILE* const file = fopen(at(NAMES[i]), "rb");
    assert_non_null(file);
    assert_int_equal(fread(start, 1, sizeof(start), file), sizeof(start));
    fclose(file);
    assert_memory_equal(start, STARTS[i], strlen(STARTS[i]));
    run_clear(&plain);
    run_clear(&paged);
  }
}

/// What the JSON says is on the page: title, advice, scores; with a plan also its buttons.
static void
the_page_says_what_the_report_says(void** const state)
{
  (void)state;
  if (!pdf_to_text) {
    skip();
  }
  ProgramRun run = RUN(phrase, take, "--json", "--style", "across", "--page", at("a.pdf"));
  assert_int_equal(run.status, 0);
  json_t* const report = json_loads(run.output, 0, NULL);
  assert_non_null(report);
  run_clear(&run);
  run = run_program((const char* const[]){pdf_to_text, "-raw", at("a.pdf"), "-", NULL});
  assert_int_equal(run.status, 0);
  text_squeeze(run.output);
  const json_t* const round = json_array_get(json_object_get(report, "rounds"), 0);
  const char* const title =
      json_string_value(json_object_get(json_object_get(report, "phrase"), "title"));
  const char* const advice = json_string_value(json_array_get(json_object_get(round, "advice"), 0));
  assert_non_null(title);
  assert_non_null(advice);
  assert_non_null(strstr(run.output, title));
  assert_non_null(strstr(run.output, advice + 1)); // its first letter is a capital
  char score[32];
  const json_t* const cuts = json_object_get(json_object_get(round, "scores"), "cuts");
  snprintf(score, sizeof(score), "out of 100 %.0f", json_number_value(cuts));
  assert_non_null(strstr(run.output, score));
  assert_non_null(strstr(run.output, "L2-5"));
  assert_non_null(strstr(run.output, "across the rows"));
  run_clear(&run);
  json_decref(report);
  // Judged in another key than planned: then there are no buttons
  run = RUN(phrase, take, "--style", "across", "--transpose", "2", "--page", at("b.pdf"));
  assert_int_equal(run.status, 0);
  run_clear(&run);
  run = run_program((const char* const[]){pdf_to_text, "-raw", at("b.pdf"), "-", NULL});
  assert_non_null(strstr(run.output, "a tone lower than written"));
  assert_null(strstr(run.output, "L2-5"));
  assert_null(strstr(run.output, "across the rows"));
  run_clear(&run);
}

static void
several_takes(void** const state)
{
  (void)state;
  char* const other = folder_path(folder, "other.flac");
  copy_file(take, other);
  ProgramRun run = RUN(phrase, take, other, "--page", at("b.png"));
  assert_int_equal(run.status, 0);
  run_clear(&run);
  assert_true(is_there("b-1.png") && is_there("b-2.png"));
  assert_false(is_there("b.png"));
  // A take that cannot be judged has no page, and the others keep their numbers
  run = RUN(phrase, at("none.wav"), take, "--page", at("c.svg"));
  assert_int_equal(run.status, 1);
  run_clear(&run);
  assert_true(is_there("c-2.svg"));
  assert_false(is_there("c-1.svg") || is_there("c.svg"));
  run = RUN(phrase, at("none.wav"), "--page", at("d.pdf"));
  assert_int_equal(run.status, 1);
  run_clear(&run);
  assert_false(is_there("d.pdf"));
  run = RUN(phrase, take, other, "--page", at("e.pdf"));
  assert_int_equal(run.status, 0);
  run_clear(&run);
  assert_true(is_there("e.pdf"));
  assert_false(is_there("e-1.pdf"));
  if (pdf_to_text) {
    run = run_program((const char* const[]){pdf_to_text, at("e.pdf"), "-", NULL});
    size_t pages = 0;
    for (const char* c = run.output; *c; ++c) {
      pages += *c == '\f' ? 1 : 0;
    }
    assert_int_equal(pages, 2);
    run_clear(&run);
  }
  free(other);
}

static void
nothing_read_is_written_over(void** const state)
{
  (void)state;
  const char* const own = at("own.svg");
  copy_file(phrase, own);
  ProgramRun run = RUN(own, take, "--page", own);
  assert_int_equal(run.status, 2);
  assert_non_null(strstr(run.trouble, "own.svg"));
  run_clear(&run);
  // Nor where the name is one that is numbered
  const char* const second = at("x-2.png");
  copy_file(take, second);
  struct stat before;
  struct stat after;
  assert_int_equal(stat(second, &before), 0);
  run = RUN(phrase, take, second, "--page", at("x.png"));
  assert_int_equal(run.status, 2);
  run_clear(&run);
  assert_int_equal(stat(second, &after), 0);
  assert_int_equal(before.st_size, after.st_size);
  assert_false(is_there("x-1.png"));
  run = RUN(phrase, take, "--page", at("y.pdf"), "-o", at("y.pdf"));
  assert_int_equal(run.status, 2);
  run_clear(&run);
  assert_false(is_there("y.pdf"));
}

static void
what_cannot_be_written(void** const state)
{
  (void)state;
  ProgramRun run = RUN(phrase, take, "--page", at("a.gif"));
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, ".pdf, .svg or .png"));
  assert_string_equal(run.output, "");
  assert_false(is_there("a.gif"));
  run_clear(&run);
  run = RUN(phrase, take, "--page", at("no/such/a.pdf"));
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "a.pdf"));
  run_clear(&run);
  run = RUN(phrase, take, "--page");
  assert_int_equal(run.status, 2);
  run_clear(&run);
}

int
main(const int argc, char** const argv)
{
  if (argc < 4) {
    return 2;
  }
  program = argv[1];
  phrase = argv[2];
  take = argv[3];
  pdf_to_text = argc > 4 && *argv[4] ? argv[4] : NULL;
  folder = folder_make();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_teardown(with_other_options, empty),
      cmocka_unit_test_teardown(the_page_says_what_the_report_says, empty),
      cmocka_unit_test_teardown(several_takes, empty),
      cmocka_unit_test_teardown(nothing_read_is_written_over, empty),
      cmocka_unit_test_teardown(what_cannot_be_written, empty),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  folder_remove(folder);
  free(folder);
  return failed;
}
