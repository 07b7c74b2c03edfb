// SPDX-License-Identifier: GPL-3.0-or-later

// The history out of the program and back, without loss, as CSV and as JSON; and files that are not
// what they should be.
//
// usage: test_history_file VERSION-1.sql

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_history.h"
#include "run_program.h"

#include <steadyreed/history_file.h>

#include <glib.h>
#include <jansson.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* fixture_path;
static char* folder;
static char* from_path; ///< A history with much in it
static char* to_path;   ///< An empty one

static SrHistory*
open_history(const char* const path)
{
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(path, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  assert_null(sr_history_remark(history));
  return history;
}

static void
remove_history(const char* const path)
{
  static const char* const endings[] = {"", "-wal", "-shm"};
  for (size_t i = 0; i < 3; ++i) {
    char* const file = g_strconcat(path, endings[i], NULL);
    unlink(file);
    g_free(file);
  }
}

/// Titles that need quoting, that a spreadsheet would run, and that look like numbers or nothing.
static const char* const titles[] = {
    "Plain", "One, Two", "The \"Wet\" Gate", "=1+1",         "'quoted'", "-5",
    "12",    "1e5",      "F\xE2\x99\xAF",    "@home + away", "null",     ""};

#define TITLES (sizeof(titles) / sizeof(titles[0]))

static void
fill(void)
{
  char* sql = NULL;
  assert_true(g_file_get_contents(fixture_path, &sql, NULL, NULL));
  made_sql(from_path, sql);
  g_free(sql);
  SrHistory* const history = open_history(from_path);
  for (size_t i = 0; i < TITLES; ++i) {
    SrPhrase* const phrase = made_phrase(titles[i], (int)i);
    for (int r = 0; r < 5; ++r) {
      const MadeRound round = {.bpm = 90.0 + 100.0 / 3.0 * r,
                               .joined = (unsigned)r,
                               .spread_ms = r == 2 ? (double)NAN : 0.1 + r / 7.0,
                               .offset_ms = r == 3 ? (double)NAN : -1.0 / 3.0,
                               .alone_ms = r == 1 ? 1e-9 : 0.0,
                               .air = (unsigned)r};
      made_round_add(history, phrase, &round, 19000 + (int)i, r, NULL);
    }
    sr_phrase_del(phrase);
  }
  sr_history_close(history);
}

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  from_path = folder_path(folder, "from.sqlite");
  to_path = folder_path(folder, "to.sqlite");
  fill();
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(from_path);
  free(to_path);
  free(folder);
  return 0;
}

static char*
read_file(const char* const path)
{
  char* text = NULL;
  assert_true(g_file_get_contents(path, &text, NULL, NULL));
  return text;
}

/// Export; the file's text, to be freed with g_free().
static char*
export_text(const char* const history_path, const char* const name, const size_t wanted)
{
  char* const file = folder_path(folder, name);
  SrHistory* const history = open_history(history_path);
  size_t count = 0;
  SrError error = {0};
  if (sr_history_export(history, file, &count, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  assert_int_equal(count, wanted);
  sr_history_close(history);
  struct stat status;
  assert_int_equal(stat(file, &status), 0);
  assert_int_equal(status.st_mode & 0777, 0600);
  char* const text = read_file(file);
  free(file);
  return text;
}

/// Import a file of the folder. Its outcome.
static SrStatus
import(const char* const history_path, const char* const name, SrImported* const imported,
       SrError* const error)
{
  char* const file = folder_path(folder, name);
  SrHistory* const history = open_history(history_path);
  const SrStatus status = sr_history_import(history, file, imported, error);
  sr_history_close(history);
  free(file);
  return status;
}

#define ROUNDS (5 * TITLES + 3)

static void
there_and_back_again(void** const state)
{
  (void)state;
  static const char* const names[] = {"history.csv", "history.json"};
  char* const json_before = export_text(from_path, "plain.json", ROUNDS);
  for (size_t n = 0; n < 2; ++n) {
    char* const before = export_text(from_path, names[n], ROUNDS);
    SrImported imported;
    SrError error = {0};
    if (import(to_path, names[n], &imported, &error) != SR_OK) {
      fail_msg("%u: %s", error.line, error.message);
    }
    assert_int_equal(imported.added, ROUNDS);
    assert_int_equal(imported.known, 0);
    char* const after = export_text(to_path, "again.csv", ROUNDS);
    char* const as_json = export_text(to_path, "again.json", ROUNDS);
    assert_string_equal(n ? as_json : after, before);
    // Through CSV nothing is lost that JSON tells
    assert_string_equal(as_json, json_before);
    // A second time adds nothing
    assert_int_equal(import(to_path, names[n], &imported, &error), SR_OK);
    assert_int_equal(imported.added, 0);
    assert_int_equal(imported.known, ROUNDS);
    char* const third = export_text(to_path, "again.json", ROUNDS);
    assert_string_equal(third, json_before);
    // Sums of days, marks of takes and all that is not in a file of its own
    assert_int_equal(made_sql_number(to_path, "SELECT sum(rounds) FROM practice_day"), ROUNDS);
    assert_int_equal(made_sql_number(to_path, "SELECT take_marked FROM take"), 1);
    assert_int_equal(made_sql_number(to_path, "SELECT take_changed_ms FROM take"), 1790881200123LL);
    assert_true(made_sql_is_whole(to_path));
    remove_history(to_path);
    g_free(third);
    g_free(as_json);
    g_free(after);
    g_free(before);
  }
  g_free(json_before);
}

/// Read by python3's csv and json modules, which know nothing of us: the same values in both.
static void
another_program_reads_the_same(void** const state)
{
  (void)state;
  char* const csv = folder_path(folder, "outside.csv");
  char* const json = folder_path(folder, "outside.json");
  g_free(export_text(from_path, "outside.csv", ROUNDS));
  g_free(export_text(from_path, "outside.json", ROUNDS));
  static const char script[] =
      "import csv, json, sys\n"
      "whole = open(sys.argv[1], newline='', encoding='utf-8').read()\n"
      "assert whole.count('\\n') == whole.count('\\r\\n')\n"
      "rows = list(csv.DictReader(open(sys.argv[1], newline='', encoding='utf-8'), strict=True))\n"
      "rounds = json.load(open(sys.argv[2], encoding='utf-8'))['rounds']\n"
      "assert len(rows) == len(rounds)\n"
      "for row, one in zip(rows, rounds):\n"
      "    assert list(row) == list(one)\n"
      "    for key, value in one.items():\n"
      "        cell = row[key]\n"
      "        if isinstance(value, (list, dict)): assert json.loads(cell) == value, key\n"
      "        elif value is None: assert cell == '', key\n"
      "        elif isinstance(value, str):\n"
      "            assert cell == (\"'\" if value[:1] in list('=+-@\\'') else '') + value, key\n"
      "        else: assert float(cell) == value, key\n"
      "print(len(rows))\n";
  const char* const arguments[] = {"/usr/bin/python3", "-c", script, csv, json, NULL};
  if (access(arguments[0], X_OK)) {
    skip();
  }
  ProgramRun run = run_program(arguments);
  if (run.status) {
    fail_msg("%s", run.trouble);
  }
  assert_int_equal(atoi(run.output), ROUNDS);
  run_clear(&run);
  free(csv);
  free(json);
}

/// As a spreadsheet or a formatter may leave it: other columns, another order, LF, a byte order
/// mark.
static void
rearranged_files_are_read(void** const state)
{
  (void)state;
  char* const csv = folder_path(folder, "rearranged.csv");
  char* const json = folder_path(folder, "rearranged.json");
  char* const before = export_text(from_path, "rearranged.csv", ROUNDS);
  g_free(export_text(from_path, "rearranged.json", ROUNDS));
  static const char script[] =
      "import csv, json, sys\n"
      "rows = list(csv.DictReader(open(sys.argv[1], newline='', encoding='utf-8')))\n"
      "names = list(reversed(list(rows[0]))) + ['mine']\n"
      "out = open(sys.argv[1], 'w', newline='', encoding='utf-8-sig')\n"
      "writer = csv.DictWriter(out, names, quoting=csv.QUOTE_MINIMAL, lineterminator='\\n')\n"
      "writer.writeheader()\n"
      "for row in rows: writer.writerow(dict(row, mine='a \"note\"\\nof two lines'))\n"
      "out.close()\n"
      "whole = json.load(open(sys.argv[2]))\n"
      "json.dump(whole, open(sys.argv[2], 'w'), indent=4)\n";
  const char* const arguments[] = {"/usr/bin/python3", "-c", script, csv, json, NULL};
  if (access(arguments[0], X_OK)) {
    skip();
  }
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 0);
  run_clear(&run);
  static const char* const names[] = {"rearranged.csv", "rearranged.json"};
  for (size_t n = 0; n < 2; ++n) {
    SrImported imported;
    SrError error = {0};
    if (import(to_path, names[n], &imported, &error) != SR_OK) {
      fail_msg("%s:%u: %s", names[n], error.line, error.message);
    }
    char* const after = export_text(to_path, "again.csv", ROUNDS);
    assert_string_equal(after, before);
    g_free(after);
    remove_history(to_path);
  }
  g_free(before);
  free(csv);
  free(json);
}

/// A text with one part replaced; free() it.
static char*
replaced(const char* const text, const char* const part, const char* const by)
{
  const char* const at = strstr(text, part);
  if (!at) {
    fail_msg("\"%s\" is not there", part);
  }
  char* const result = malloc(strlen(text) + strlen(by) + 1);
  assert_non_null(result);
  memcpy(result, text, (size_t)(at - text));
  strcpy(result + (at - text), by);
  strcat(result, at + strlen(part));
  return result;
}

static void
one_fault_adds_nothing(void** const state)
{
  (void)state;
  static const struct {
    const char* part; ///< Of the JSON; the last rounds are the fixture's
    const char* by;
    const char* word; ///< In the message
  } faults[] = {
      {"\"steadyreed-history\"", "\"other\"", "no history"},
      {"\"version\":1", "\"version\":2", "no history"},
      {"\"spread_ms\":12.5", "\"spread_ms\":-12.5", "spread_ms"},
      {"\"spread_ms\":12.5", "\"spread_ms\":\"12\"", "spread_ms"},
      {"\"spread_ms\":12.5", "\"spread_ms\":1e400", "JSON"},
      {"\"seconds\":7.25", "\"seconds\":null", "seconds"},
      {"\"utc_ms\":1790881200000", "\"utc_ms\":1e999", "JSON"},
      {"\"utc_ms\":1790881200000", "\"utc_ms\":9000000000000000000", "utc_ms"},
      {"\"utc_offset_s\":-18000", "\"utc_offset_s\":-180000", "utc_offset_s"},
      {"\"click\":\"none\"", "\"click\":\"loud\"", "click"},
      {"\"part\":\"A\"", "\"part\":\"a\"", "part"},
      {"\"take\":\"2026-10", "\"take\":\"../2026-10", "take"},
      {"\"take_marked\":1", "\"take_marked\":null", "take_marked"},
      {"\"take_marked\":1", "\"take_marked\":2", "take_marked"},
      {"\"title\":\"First Sip\"", "\"title\":7", "title"},
      {"\"title\":\"First Sip\"", "\"title\":\"First\\u0000Sip\"", "JSON"},
      {"\"bars\":[{\"bar\":1,\"notes\":5,\"wrong\":3",
       "\"bars\":[{\"bar\":1,\"notes\":5,\"wrong\":-3", "bars"},
      {"\"bar\":2,\"notes\":6,\"wrong\":0,\"joined\":0,\"cuts\":2,\"cuts_faulty\":0,\"inserted\":0",
       "\"bar\":2,\"notes\":6", "bars"},
      {"\"bars\":[{\"bar\":1,\"notes\":5", "\"bars\":[{\"bar\":\"1\",\"notes\":5", "bars"},
      {"\"assessment\":{\"format\"", "\"assessment\":[{\"format\"", ""},
      {"\"uid\":\"aaaaaaaa-0000-4000-8000-000000000003\"", "\"uid\":\"\"", "uid"},
      {"\n]}\n", "\n", ""},
      {"\n]}\n", "\n]}\n7", "no history"},
      {"\n]}\n", ",\n]}\n", ""},
  };
  char* const good = export_text(from_path, "good.json", ROUNDS);
  char* const file = folder_path(folder, "bad.json");
  for (size_t i = 0; i < sizeof(faults) / sizeof(faults[0]); ++i) {
    char* const bad = replaced(good, faults[i].part, faults[i].by);
    file_put(file, bad);
    SrImported imported = {7, 7};
    SrError error = {0};
    const SrStatus status = import(to_path, "bad.json", &imported, &error);
    if (status != SR_BAD_SYNTAX || !strstr(error.message, faults[i].word) || !error.line) {
      fail_msg("%s: status %d, line %u, %s", faults[i].by, (int)status, error.line, error.message);
    }
    assert_string_equal(error.file, file);
    assert_int_equal(imported.added + imported.known, 0);
    assert_int_equal(made_sql_number(to_path, "SELECT count(*) FROM round"), 0);
    assert_int_equal(made_sql_number(to_path, "SELECT count(*) FROM phrase"), 0);
    free(bad);
  }
  remove_history(to_path);
  free(file);
  g_free(good);
}

static void
faulty_csv_adds_nothing(void** const state)
{
  (void)state;
  static const struct {
    const char* part;
    const char* by;
    unsigned line;
  } faults[] = {
      {"utc_ms,", "utc,", 1},
      {"utc_ms,", "uid,", 1},
      {"\"One, Two\"", "One, Two", 7},
      {"\"One, Two\"", "\"One, Two\" ", 7},
      {"\"One, Two\"", "One \"Two\"", 7},
      {"\"One, Two\"", "\"One, Two", 7},
      {",pulses,", ",pulses,,", 2},
      {",90,90,", ",90,ninety,", 2},
      {",90,90,", ",90,-90,", 2},
      {"[{\"\"bar\"\"", "[{\"\"bars\"\"", 2},
  };
  char* const good = export_text(from_path, "good.csv", ROUNDS);
  char* const file = folder_path(folder, "bad.csv");
  for (size_t i = 0; i < sizeof(faults) / sizeof(faults[0]); ++i) {
    char* const bad = replaced(good, faults[i].part, faults[i].by);
    file_put(file, bad);
    SrImported imported = {7, 7};
    SrError error = {0};
    const SrStatus status = import(to_path, "bad.csv", &imported, &error);
    if (status != SR_BAD_SYNTAX || error.line != faults[i].line) {
      fail_msg("%s: status %d, line %u, %s", faults[i].by, (int)status, error.line, error.message);
    }
    assert_int_equal(made_sql_number(to_path, "SELECT count(*) FROM round"), 0);
    free(bad);
  }
  remove_history(to_path);
  free(file);
  g_free(good);
}

static void
wrong_names(void** const state)
{
  (void)state;
  SrImported imported;
  SrError error = {0};
  assert_int_equal(import(to_path, "history.txt", &imported, &error), SR_BAD_ARGUMENT);
  assert_int_equal(import(to_path, "csv", &imported, &error), SR_BAD_ARGUMENT);
  assert_int_equal(import(to_path, "none.csv", &imported, &error), SR_NOT_FOUND);
  SrHistory* const history = open_history(to_path);
  assert_int_equal(sr_history_export(history, "/none/such/folder/a.csv", NULL, &error),
                   SR_NOT_FOUND);
  assert_int_equal(sr_history_export(history, folder, NULL, &error), SR_BAD_ARGUMENT);
  sr_history_close(history);
  // An empty one comes out and goes in, too
  g_free(export_text(to_path, "empty.json", 0));
  g_free(export_text(to_path, "empty.csv", 0));
  assert_int_equal(import(to_path, "empty.json", &imported, &error), SR_OK);
  assert_int_equal(import(to_path, "empty.csv", &imported, &error), SR_OK);
  remove_history(to_path);
}

int
main(const int argc, char** const argv)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(there_and_back_again),      cmocka_unit_test(another_program_reads_the_same),
      cmocka_unit_test(rearranged_files_are_read), cmocka_unit_test(one_fault_adds_nothing),
      cmocka_unit_test(faulty_csv_adds_nothing),   cmocka_unit_test(wrong_names),
  };
  if (argc < 2) {
    return 2;
  }
  fixture_path = argv[1];
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
