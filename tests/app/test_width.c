// SPDX-License-Identifier: GPL-3.0-or-later

// What is printed fits the terminal, and nothing is lost by that. The program is the first
// argument, the folder of exercises the second, a take of first-cuts.abc the third.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "help.h"
#include "run_terminal.h"
#include "say.h"
#include "terminal_view.h"

#include <ctype.h>
#include <fcntl.h>
#include <locale.h>
#include <math.h>
#include <pty.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

static const char* program;
static char cuts_path[512];
static char jig_path[512];
static const char* take_path;

static const unsigned short widths[] = {40, 60, 80};
#define WIDTH_COUNT (sizeof(widths) / sizeof(widths[0]))
/// The first of them, on which tables are run beside the last.
#define NARROW_COUNT 2
#define MOST_ARGUMENTS 10

/// A command, without the program.
typedef const char* Command[MOST_ARGUMENTS];

static ProgramRun
run(const Command command, const unsigned short columns)
{
  const char* arguments[MOST_ARGUMENTS + 2] = {program};
  memcpy(arguments + 1, command, sizeof(Command));
  if (columns) {
    return run_on_terminal(arguments, columns);
  }
  ProgramRun piped = run_program(arguments);
  if (!piped.output[0]) {
    char* const output = piped.output;
    piped.output = piped.trouble;
    piped.trouble = output;
  }
  return piped;
}

static void
check_fits(const ProgramRun* const shown, const unsigned short columns)
{
  if (widest_line(shown->output) > columns) {
    print_error("%zu columns on %u:\n%s", widest_line(shown->output), columns, shown->output);
  }
  assert_true(widest_line(shown->output) <= columns);
}

/// Without spaces, and without backslashes at the ends of lines.
static char*
squeezed(const char* const text)
{
  char* const copy = calloc(strlen(text) + 1, 1);
  assert_non_null(copy);
  size_t size = 0;
  for (const char* c = text; *c; ++c) {
    if (!isspace((unsigned char)*c) && strncmp(c, "\\\n", 2) != 0) {
      copy[size++] = *c;
    }
  }
  return copy;
}

/// The same letters in the same order, whatever the width.
static void
words_are_all_there(void** const state)
{
  (void)state;
  const Command commands[] = {
      {"demo"},
      {"plan", "--list"},
      {"assess", cuts_path,
       "/no/such/folder/with-a-rather-long-name/and/another-one-in-it/take.wav"},
  };
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    ProgramRun wide = run(commands[i], 80);
    check_fits(&wide, 80);
    char* const all = squeezed(wide.output);
    ProgramRun narrow = run(commands[i], widths[0]);
    assert_int_equal(narrow.status, wide.status);
    check_fits(&narrow, widths[0]);
    char* const shown = squeezed(narrow.output);
    assert_string_equal(shown, all);
    free(shown);
    run_clear(&narrow);
    free(all);
    run_clear(&wide);
  }
}

/// How often a word comes in a text, with nothing but spaces beside it.
static size_t
count_word(const char* const text, const char* const word, const size_t length)
{
  size_t count = 0;
  for (const char* at = text; (at = strstr(at, word)); at += length) {
    const bool begins = at == text || isspace((unsigned char)at[-1]);
    count += begins && (!at[length] || isspace((unsigned char)at[length])) ? 1 : 0;
  }
  return count;
}

/// Tables change their shape, but not what they say. The bellows are drawn in fewer columns.
static void
tables_keep_their_words(void** const state)
{
  (void)state;
  const Command commands[] = {
      {"plan", jig_path, "--bars", "1-4"},
      {"assess", cuts_path, take_path, "--all"},
  };
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    ProgramRun wide = run(commands[i], 80);
    check_fits(&wide, 80);
    for (size_t w = 0; w < NARROW_COUNT; ++w) {
      ProgramRun narrow = run(commands[i], widths[w]);
      check_fits(&narrow, widths[w]);
      char* const words = strdup(wide.output);
      char* rest = words;
      for (char* word; (word = strsep(&rest, " \n"));) {
        // A word of the bellows' signs alone is a part of their scale
        if (word[0] && !strpbrk(word, "[]/") && strspn(word, ":|<->") < strlen(word)) {
          const size_t length = strlen(word);
          if (count_word(narrow.output, word, length) != count_word(wide.output, word, length)) {
            print_error("\"%s\" on %u columns:\n%s", word, widths[w], narrow.output);
          }
          assert_int_equal(count_word(narrow.output, word, length),
                           count_word(wide.output, word, length));
        }
      }
      free(words);
      run_clear(&narrow);
    }
    run_clear(&wide);
  }
}

/// Take the breaks away that ABC has for its own lines (ABC 2.1, sections 3.3 and 6.1.1).
static char*
joined(const char* const text)
{
  static const char* const breaks[] = {"\\\n", "\n+: "};
  char* const copy = strdup(text);
  assert_non_null(copy);
  for (size_t i = 0; i < 2; ++i) {
    for (char* at; (at = strstr(copy, breaks[i]));) {
      memmove(at, at + strlen(breaks[i]), strlen(at + strlen(breaks[i])) + 1);
    }
  }
  return copy;
}

static void
notation_stays_the_same(void** const state)
{
  (void)state;
  const Command commands[] = {
      {"drill", "air"},
      {"plan", jig_path, "--abc"},
  };
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    ProgramRun wide = run(commands[i], 0);
    ProgramRun narrow = run(commands[i], widths[0]);
    check_fits(&narrow, widths[0]);
    char* const text = joined(narrow.output);
    assert_string_equal(text, wide.output);
    free(text);
    run_clear(&narrow);
    run_clear(&wide);
  }
}

/// A word is only cut if no line could hold it, and a number stays with what it counts.
static void
words_are_broken_between(void** const state)
{
  (void)state;
  static const struct {
    const char* text;
    SrShowLine line;
    const char* shown;
  } cases[] = {
      {"one two three four five six", {0, 2, 20, NULL}, "one two three four\nfive six"},
      {"over 1200 and more than 12 notes", {0, 2, 26, NULL}, "over 1200 and more than\n  12 notes"},
      {"a word-of-thirty-columns-at-least b",
       {0, 8, 32, NULL},
       "a\n word-of-thirty-columns-at-least\n        b"},
      {"in /home/player/takes-of-a-year/x.wav",
       {0, 2, 24, NULL},
       "in\n  /home/player/\n  takes-of-a-year/x.wav"},
      {"go on and on with --bars 1-4 --all",
       {0, 4, 26, " \\"},
       "go on and on with \\\n    --bars 1-4 --all"},
      {"go on and on with 'a file of 1 take'",
       {0, 4, 30, " \\"},
       "go on and on with \\\n    'a file of 1 take'"},
      {"two  spaces  stay", {4, 4, 60, NULL}, "two  spaces  stay"},
      {"  a line\nand another", {0, 2, 40, NULL}, "  a line\n  and another"},
      {"\u7df4\u7fd2 \u7df4\u7fd2\u7df4\u7fd2 \u7df4\u7fd2\u7df4\u7fd2",
       {0, 0, 20, NULL},
       "\u7df4\u7fd2 \u7df4\u7fd2\u7df4\u7fd2\n\u7df4\u7fd2\u7df4\u7fd2"},
      {"", {0, 2, 40, NULL}, ""},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char* text = NULL;
    size_t size = 0;
    FILE* const stream = open_memstream(&text, &size);
    assert_non_null(stream);
    sr_show_words(stream, cases[i].text, &cases[i].line);
    fclose(stream);
    assert_string_equal(text, cases[i].shown);
    free(text);
  }
}

/// A terminal of which both ends are held here.
typedef struct {
  int master;
  FILE* stream;
  char text[65536];
} Terminal;

static void
set_columns(const Terminal* const terminal, const unsigned short columns)
{
  const struct winsize size = {.ws_row = 24, .ws_col = columns};
  assert_int_equal(ioctl(terminal->master, TIOCSWINSZ, &size), 0);
}

static void
open_terminal(Terminal* const terminal, const unsigned short columns)
{
  struct termios raw = {0};
  int slave = -1;
  cfmakeraw(&raw);
  assert_int_equal(openpty(&terminal->master, &slave, NULL, &raw, NULL), 0);
  assert_int_equal(fcntl(terminal->master, F_SETFL, O_NONBLOCK), 0);
  set_columns(terminal, columns);
  terminal->stream = fdopen(slave, "w");
  assert_non_null(terminal->stream);
}

/// What has come since the last time.
static const char*
shown(Terminal* const terminal)
{
  fflush(terminal->stream);
  size_t size = 0;
  ssize_t count;
  while ((count = read(terminal->master, terminal->text + size,
                       sizeof(terminal->text) - 1 - size)) > 0) {
    size += (size_t)count;
  }
  terminal->text[size] = '\0';
  return terminal->text;
}

static void
close_terminal(Terminal* const terminal)
{
  fclose(terminal->stream);
  close(terminal->master);
}

/// Every help, as it is for a file and on a terminal.
static void
help_fits(void** const state)
{
  (void)state;
  for (size_t i = 0; i < SR_HELP_COUNT; ++i) {
    char* text_of_all = NULL;
    assert_true(asprintf(&text_of_all, "%s%s", sr_helps[i].text, sr_helps[i].more) >= 0);
    char* const all = squeezed(text_of_all);
    free(text_of_all);
    for (unsigned short columns = 40; columns <= 100; columns += 20) {
      Terminal terminal;
      open_terminal(&terminal, columns);
      sr_say_help(terminal.stream, sr_helps[i].text);
      sr_say_help(terminal.stream, sr_helps[i].more);
      const char* const text = shown(&terminal);
      assert_true(widest_line(text) <= (columns < 80 ? columns : 80));
      char* const said = squeezed(text);
      assert_string_equal(said, all);
      free(said);
      close_terminal(&terminal);
    }
    free(all);
  }
}

/// A path in wide and combining characters, which no word list of ours has.
static void
wide_characters_count_twice(void** const state)
{
  (void)state;
  SrError error;
  sr_error_set(&error, SR_NOT_FOUND, "There is no such recording, said 練習の録音 of é.");
  sr_error_place(&error, "/長い名前のフォルダー/練習の録音/火曜日の夜の練習の録音/é.wav", 0, 0);
  for (size_t w = 0; w < WIDTH_COUNT; ++w) {
    Terminal terminal;
    open_terminal(&terminal, widths[w]);
    const int kept = dup(STDERR_FILENO);
    dup2(fileno(terminal.stream), STDERR_FILENO);
    sr_say_error(&error);
    dup2(kept, STDERR_FILENO);
    close(kept);
    const char* const text = shown(&terminal);
    assert_true(widest_line(text) <= widths[w]);
    assert_true(widest_line(text) + 20 > widths[w]);
    char* const said = squeezed(text);
    assert_non_null(strstr(said, "said練習の録音ofé."));
    free(said);
    close_terminal(&terminal);
  }
}

/// Whatever the level, on a terminal of any size, also when that changes.
static void
level_line_stays_on_its_line(void** const state)
{
  (void)state;
  Terminal terminal;
  open_terminal(&terminal, 120);
  SrTerminalView view = sr_terminal_view(terminal.stream, NULL, false, false);
  static const unsigned short sizes[] = {120, 80, 79, 78, 77, 60, 41, 40, 30, 40, 66, 80};
  for (size_t i = 0; i < sizeof(sizes) / sizeof(sizes[0]); ++i) {
    set_columns(&terminal, sizes[i]);
    sr_view_level(&view, -20.0);
    shown(&terminal);
    for (double level = -120.0; level < 6.0; level += 1.0) {
      sr_view_level(&view, level);
      const char* const line = shown(&terminal);
      assert_null(strchr(line, '\n'));
      assert_true(widest_line(line) < sizes[i]);
      assert_non_null(strstr(line, " dB "));
      assert_true(level < -2.5 || strstr(line, "too loud"));
      assert_true(level < -2.5 || sizes[i] < 80 || strstr(line, "turn the input down"));
      assert_true(sizes[i] < 40 || level < -20.0 || strstr(line, "[====="));
    }
    sr_view_say(&view, "Said.");
    const char* const line = shown(&terminal);
    assert_true(widest_line(line) < sizes[i]);
    assert_string_equal(strrchr(line, '\r'), "\rSaid.\n");
  }
  sr_view_clear(&view);
  close_terminal(&terminal);
}

static void
long_count_in_is_broken(void** const state)
{
  (void)state;
  Terminal terminal;
  open_terminal(&terminal, 40);
  SrTerminalView view = sr_terminal_view(terminal.stream, NULL, false, false);
  for (unsigned i = 1; i <= 24; ++i) {
    sr_view_count_in(&view, i, 24);
  }
  const char* const text = shown(&terminal);
  assert_true(widest_line(text) < 40);
  assert_non_null(strstr(text, " 12"));
  assert_non_null(strstr(text, " 24 - play\n"));
  sr_view_clear(&view);
  close_terminal(&terminal);
}

/// The table at the end of a practice is a list of sentences where it does not fit.
static void
table_of_rounds_fits(void** const state)
{
  (void)state;
  const SrRoundRow row = {
      .bpm = 66.0, .played = 120, .notes = 121, .scores = {100.0, 98.0, (double)NAN}};
  for (size_t w = 0; w < WIDTH_COUNT; ++w) {
    Terminal terminal;
    open_terminal(&terminal, widths[w]);
    SrTerminalView view = sr_terminal_view(terminal.stream, NULL, false, false);
    sr_view_table_begin(&view, 2);
    sr_view_table_row(&view, 1, &row);
    sr_view_table_row(&view, 2, &row);
    shown(&terminal);
    char* const text = terminal.text;
    assert_true(widest_line(text) <= widths[w]);
    char* const said = squeezed(text);
    static const char* const words[] = {"pulsesaminute", "notesright", "cuts", "evenness", "air",
                                        "120",           "121",        "66",   "100",      "98"};
    for (size_t i = 0; i < sizeof(words) / sizeof(words[0]); ++i) {
      assert_non_null(strstr(said, words[i]));
    }
    free(said);
    sr_view_clear(&view);
    close_terminal(&terminal);
  }
}

int
main(const int count, char** const arguments)
{
  if (count < 4) {
    fprintf(stderr, "usage: test_width PROGRAM EXERCISES TAKE\n");
    return 2;
  }
  setlocale(LC_CTYPE, "C.UTF-8");
  program = arguments[1];
  snprintf(cuts_path, sizeof(cuts_path), "%s/first-cuts.abc", arguments[2]);
  snprintf(jig_path, sizeof(jig_path), "%s/session-jig.abc", arguments[2]);
  take_path = arguments[3];
  setenv("LC_ALL", "C.UTF-8", 1);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(words_are_broken_between),     cmocka_unit_test(help_fits),
      cmocka_unit_test(wide_characters_count_twice),  cmocka_unit_test(words_are_all_there),
      cmocka_unit_test(tables_keep_their_words),      cmocka_unit_test(notation_stays_the_same),
      cmocka_unit_test(level_line_stays_on_its_line), cmocka_unit_test(long_count_in_is_broken),
      cmocka_unit_test(table_of_rounds_fits),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
