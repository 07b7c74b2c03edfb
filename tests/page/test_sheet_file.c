// SPDX-License-Identifier: GPL-3.0-or-later

// Sheets as files, read by programs that are not ours: xmllint (libxml2), pdfinfo and pdftotext
// (poppler). Where they are not installed, what they check is left out, and said.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_sheet.h"
#include "run_program.h"

#include "show/picture_file.h"
#include "show/sheet_file.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

static char* folder;

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
make_case(const char* const name, MadeSheet* const made)
{
  for (size_t i = 0; i < sheet_case_count; ++i) {
    if (!strcmp(sheet_cases[i].name, name)) {
      assert_true(made_sheet_make(&sheet_cases[i].order, made));
      return;
    }
  }
  fail();
}

/// Run a checker; false if it is not installed.
static bool
check_with(const char* const* const arguments, ProgramRun* const run)
{
  *run = run_program(arguments);
  if (run->status == 98) {
    print_message("%s is not installed: not checked\n", arguments[0]);
    run_clear(run);
    return false;
  }
  return true;
}

static bool
is_there(const char* const path)
{
  struct stat status;
  return !lstat(path, &status);
}

static void
svg_is_xml(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "sheet.SVG");
  for (size_t i = 0; i < sheet_case_count; ++i) {
    MadeSheet made;
    assert_true(made_sheet_make(&sheet_cases[i].order, &made));
    assert_int_equal(sr_sheet_write(path, &made.content, NULL), SR_OK);
    made_sheet_clear(&made);
    ProgramRun run;
    const char* const arguments[] = {"xmllint", "--noout", "--nonet", path, NULL};
    if (check_with(arguments, &run)) {
      assert_int_equal(run.status, 0);
      assert_string_equal(run.trouble, "");
      run_clear(&run);
    }
  }
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  char start[512] = "";
  assert_true(fread(start, 1, sizeof(start) - 1, file) > 100);
  fclose(file);
  assert_non_null(strstr(start, "<svg xmlns=\"http://www.w3.org/2000/svg\""));
  unlink(path);
  free(path);
}

/// A line of what pdfinfo said.
static const char*
value_of(const char* const text, const char* const key)
{
  const char* const line = strstr(text, key);
  return line ? line + strlen(key) + strspn(line + strlen(key), " ") : "";
}

static void
pdf_has_its_pages(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    long pages;
    const char* size;
  } CASES[] = {{"jig", 2, "595.276 x 841.89 pts (A4)"},
               {"one-bar", 1, "595.276 x 841.89 pts (A4)"},
               {"alone-38", 1, "841.89 x 595.276 pts (A4)"},
               {"long", 3, "595.276 x 841.89 pts (A4)"}};
  char* const path = folder_path(folder, "sheet.pdf");
  for (size_t i = 0; i < sizeof(CASES) / sizeof(CASES[0]); ++i) {
    MadeSheet made;
    make_case(CASES[i].name, &made);
    SrSheet* sheet = NULL;
    assert_int_equal(sr_sheet_new(&made.content, true, &sheet), SR_OK);
    const long laid_out = (long)sr_sheet_pages(sheet);
    sr_sheet_del(sheet);
    assert_int_equal(sr_sheet_write(path, &made.content, NULL), SR_OK);
    ProgramRun run;
    const char* const arguments[] = {"pdfinfo", path, NULL};
    if (check_with(arguments, &run)) {
      assert_int_equal(run.status, 0);
      assert_int_equal(strtol(value_of(run.output, "\nPages:"), NULL, 10), laid_out);
      assert_memory_equal(value_of(run.output, "\nPage size:"), CASES[i].size,
                          strlen(CASES[i].size));
      // Fonts of another system may need another page; far from this they cannot be.
      assert_true(labs(laid_out - CASES[i].pages) <= 1);
      run_clear(&run);
    }
    made_sheet_clear(&made);
  }
  unlink(path);
  free(path);
}

/// Each name and button, as pdftotext finds them, as often as there are notes with them.
static void
pdf_text_has_all_notes(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "words.pdf");
  MadeSheet made;
  make_case("reel", &made);
  assert_int_equal(sr_sheet_write(path, &made.content, NULL), SR_OK);
  ProgramRun run;
  const char* const arguments[] = {"pdftotext", "-layout", path, "-", NULL};
  if (check_with(arguments, &run)) {
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.output, "Reel with a pickup"));
    for (size_t i = 0; i < made.content.phrase.stroke_count; ++i) {
      const SrDrawnStroke* const stroke = &made.content.phrase.strokes[i];
      size_t buttons = 1;
      for (size_t k = 0; k < made.content.phrase.stroke_count; ++k) {
        const SrDrawnStroke* const other = &made.content.phrase.strokes[k];
        buttons += !strcmp(other->button, stroke->button);
        buttons += other->cut == SR_DRAWN_CUT && !strcmp(other->cut_button, stroke->button);
      }
      size_t found = 0;
      for (const char* at = run.output; (at = strstr(at, stroke->button)); ++at) {
        ++found;
      }
      assert_int_equal(found, buttons);
      assert_non_null(strstr(run.output, stroke->name));
    }
    run_clear(&run);
  }
  made_sheet_clear(&made);
  unlink(path);
  free(path);
}

static uint32_t
big_endian(const unsigned char* const bytes)
{
  return (uint32_t)bytes[0] << 24 | (uint32_t)bytes[1] << 16 | (uint32_t)bytes[2] << 8 | bytes[3];
}

/// Signature and IHDR as the PNG specification has them (ISO/IEC 15948, 5.2 and 11.2.2).
static void
png_has_its_size(void** const state)
{
  (void)state;
  static const unsigned char SIGNATURE[] = {0x89, 'P', 'N', 'G', 0x0D, 0x0A, 0x1A, 0x0A};
  static const char* const NAMES[] = {"one-bar", "long"};
  uint32_t heights[2] = {0};
  for (size_t i = 0; i < 2; ++i) {
    char* const path = folder_path(folder, "sheet.png");
    MadeSheet made;
    make_case(NAMES[i], &made);
    assert_int_equal(sr_sheet_write(path, &made.content, NULL), SR_OK);
    made_sheet_clear(&made);
    FILE* const file = fopen(path, "rb");
    assert_non_null(file);
    unsigned char head[24];
    assert_int_equal(fread(head, 1, sizeof(head), file), sizeof(head));
    fclose(file);
    assert_memory_equal(head, SIGNATURE, sizeof(SIGNATURE));
    // 210 mm at 200 pixels to the inch.
    assert_int_equal(big_endian(head + 16), 1654);
    heights[i] = big_endian(head + 20);
    unlink(path);
    free(path);
  }
  assert_true(heights[0] > 600 && heights[1] > 2 * heights[0]);
}

static void
too_tall_for_png(void** const state)
{
  (void)state;
  SheetOrder order = {.buttons = 20, .times = 250, .seconds_a_bar = 1.0, .bars_a_line = 1};
  order.abc = "X:1\nM:6/8\nL:1/8\nK:G\nGAB d2B|c3 c3|G3 B3|e3 d3|\n";
  MadeSheet made;
  assert_true(made_sheet_make(&order, &made));
  char* const path = folder_path(folder, "tall.png");
  SrError error;
  assert_int_equal(sr_sheet_write(path, &made.content, &error), SR_TOO_LARGE);
  assert_string_equal(error.file, path);
  assert_false(is_there(path));
  free(path);
  char* const pages = folder_path(folder, "tall.pdf");
  assert_int_equal(sr_sheet_write(pages, &made.content, &error), SR_OK);
  unlink(pages);
  free(pages);
  made_sheet_clear(&made);
}

static void
forms_by_the_end(void** const state)
{
  (void)state;
  assert_int_equal(sr_picture_form("a.svg"), SR_PICTURE_SVG);
  assert_int_equal(sr_picture_form("b.c/a.PNG"), SR_PICTURE_PNG);
  assert_int_equal(sr_picture_form("/x/a.b.pdf"), SR_PICTURE_PDF);
  static const char* const OTHERS[] = {"a",        "",   ".pdf",   "a.pdf/b",
                                       "a.pdf.gz", "a.", "x/.svg", "apdf"};
  MadeSheet made;
  make_case("one-bar", &made);
  for (size_t i = 0; i < sizeof(OTHERS) / sizeof(OTHERS[0]); ++i) {
    assert_int_equal(sr_picture_form(OTHERS[i]), SR_PICTURE_UNKNOWN);
  }
  char* const path = folder_path(folder, "page.jpeg");
  SrError error;
  assert_int_equal(sr_sheet_write(path, &made.content, &error), SR_UNSUPPORTED);
  assert_non_null(strstr(error.message, ".pdf"));
  assert_string_equal(error.file, path);
  assert_false(is_there(path));
  free(path);
  made_sheet_clear(&made);
}

static void
places_that_cannot_be_written(void** const state)
{
  (void)state;
  MadeSheet made;
  make_case("one-bar", &made);
  char* const nowhere = folder_path(folder, "no/such/folder.pdf");
  SrError error;
  assert_int_equal(sr_sheet_write(nowhere, &made.content, &error), SR_NOT_FOUND);
  assert_string_equal(error.file, nowhere);
  free(nowhere);
  char* const directory = folder_path(folder, "folder.svg");
  assert_int_equal(mkdir(directory, 0700), 0);
  assert_int_equal(sr_sheet_write(directory, &made.content, &error), SR_WRITE_FAILED);
  assert_true(is_there(directory));
  rmdir(directory);
  free(directory);
  if (geteuid() != 0) {
    char* const locked = folder_path(folder, "locked.png");
    FILE* const file = fopen(locked, "w");
    assert_non_null(file);
    fclose(file);
    assert_int_equal(chmod(locked, 0400), 0);
    assert_int_equal(sr_sheet_write(locked, &made.content, &error), SR_NO_PERMISSION);
    unlink(locked);
    free(locked);
  } else {
    print_message("root may write anything: permissions not checked\n");
  }
  made_sheet_clear(&made);
}

static void
a_full_disk(void** const state)
{
  (void)state;
  MadeSheet made;
  make_case("one-bar", &made);
  static const char* const NAMES[] = {"full.pdf", "full.svg", "full.png"};
  for (size_t i = 0; i < 3; ++i) {
    char* const path = folder_path(folder, NAMES[i]);
    assert_int_equal(symlink("/dev/full", path), 0);
    SrError error;
    assert_int_equal(sr_sheet_write(path, &made.content, &error), SR_WRITE_FAILED);
    assert_string_equal(error.file, path);
    assert_true(is_there(path)); // A device is not removed.
    unlink(path);
    free(path);
  }
  // A file that may not grow: what was begun is removed.
  signal(SIGXFSZ, SIG_IGN);
  struct rlimit limit;
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
  const struct rlimit small = {2000, limit.rlim_max};
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
  char* const path = folder_path(folder, "begun.pdf");
  SrError error;
  const SrStatus status = sr_sheet_write(path, &made.content, &error);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
  assert_int_equal(status, SR_WRITE_FAILED);
  assert_false(is_there(path));
  free(path);
  made_sheet_clear(&made);
}

static void
modes_are_usual(void** const state)
{
  (void)state;
  MadeSheet made;
  make_case("one-bar", &made);
  static const mode_t MASKS[] = {0022, 0077};
  for (size_t i = 0; i < 2; ++i) {
    char* const path = folder_path(folder, "mode.pdf");
    const mode_t before = umask(MASKS[i]);
    assert_int_equal(sr_sheet_write(path, &made.content, NULL), SR_OK);
    umask(before);
    struct stat status;
    assert_int_equal(stat(path, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0666 & ~MASKS[i]);
    unlink(path);
    free(path);
  }
  made_sheet_clear(&made);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(svg_is_xml),
      cmocka_unit_test(pdf_has_its_pages),
      cmocka_unit_test(pdf_text_has_all_notes),
      cmocka_unit_test(png_has_its_size),
      cmocka_unit_test(too_tall_for_png),
      cmocka_unit_test(forms_by_the_end),
      cmocka_unit_test(places_that_cannot_be_written),
      cmocka_unit_test(a_full_disk),
      cmocka_unit_test(modes_are_usual),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
