// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file assignment.c
   How a tune is to be practised: its directives read, written, and put in words.
*/

#include "assignment_directive.h"
#include "tune_file.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Largest bar number, as much as a tune may have.
#define MOST_BAR ((int)SR_PHRASE_MOST_BARS)

static const char prefix[] = "steadyreed:";

/// Read a number and move past it; false if there is none, or it is over `most`.
static bool
take_number(const char** const at, const int most, int* const number)
{
  int value = 0;
  if (!isdigit((unsigned char)**at)) {
    return false;
  }
  for (; isdigit((unsigned char)**at); ++*at) {
    value = 10 * value + (**at - '0');
    if (value > most) {
      return false;
    }
  }
  *number = value;
  return true;
}

/// Read "A-B" or "A:B"; the second may be left out if it is not `needed`.
static bool
read_pair(const char* const value, const char between, const bool needed, const int most,
          int* const first, int* const second)
{
  const char* at = value;
  if (!take_number(&at, most, first)) {
    return false;
  }
  *second = *first;
  if (*at == between) {
    ++at;
    return take_number(&at, most, second) && !*at;
  }
  return !needed && !*at;
}

/// Index of a word; -1 if it is not one of them.
static int
find_word(const char* const value, const char* const* const words, const int count)
{
  for (int i = 0; i < count; ++i) {
    if (!strcmp(value, words[i])) {
      return i;
    }
  }
  return -1;
}

static const char*
read_bars(const char* const value, SrAssignment* const assignment)
{
  int first = 0;
  int last = 0;
  if (!read_pair(value, '-', false, MOST_BAR, &first, &last) || last < first || last == 0) {
    return "The bars to practise are one bar or a first and a last one, such as 1-2";
  }
  assignment->first_bar = first;
  assignment->last_bar = last;
  assignment->part = '\0';
  return NULL;
}

static const char*
read_part(const char* const value, SrAssignment* const assignment)
{
  if (!(value[0] >= 'A' && value[0] <= 'Z') || value[1]) {
    return "The part to practise is one letter, A to Z";
  }
  assignment->part = value[0];
  assignment->first_bar = 0;
  assignment->last_bar = 0;
  return NULL;
}

static const char*
read_click(const char* const value, SrAssignment* const assignment)
{
  static const char* const words[] = {"pulses", "bars", "none"};
  const int found = find_word(value, words, 3);
  if (found < 0) {
    return "The click can be on \"pulses\" or \"bars\", or \"none\"";
  }
  assignment->click = (SrAssignedClick)((int)SR_ASSIGNED_CLICK_PULSES + found);
  return NULL;
}

static const char*
read_silent_bars(const char* const value, SrAssignment* const assignment)
{
  int on = 0;
  int off = 0;
  if (!read_pair(value, ':', true, SR_ASSIGNED_MOST_BARS, &on, &off) || on == 0) {
    return "Silent bars are bars with the click and bars without, such as 4:4";
  }
  assignment->on_bars = (unsigned)on;
  assignment->off_bars = (unsigned)off;
  return NULL;
}

static const char*
read_ladder(const char* const value, SrAssignment* const assignment)
{
  static const char* const words[] = {"yes", "no"};
  const int found = find_word(value, words, 2);
  if (found < 0) {
    return "The tempo ladder can be \"yes\" or \"no\"";
  }
  assignment->ladder = found ? SR_ASSIGNED_LADDER_NO : SR_ASSIGNED_LADDER_YES;
  return NULL;
}

bool
sr_assignment_is_directive(const char* const text, const size_t size)
{
  return size >= sizeof(prefix) - 1 && !memcmp(text, prefix, sizeof(prefix) - 1);
}

SrStatus
sr_assignment_directive_use(SrTuneReader* const reader, const SrLine* const line,
                            const char* const text, const size_t size)
{
  static const struct {
    const char* name;
    /// Returns what is wrong with a value, NULL if nothing is.
    const char* (*read)(const char* value, SrAssignment* assignment);
  } kinds[] = {{"bars", read_bars},
               {"part", read_part},
               {"click", read_click},
               {"silent-bars", read_silent_bars},
               {"ladder", read_ladder}};
  // A remark may follow
  const char* const remark = (const char*)memchr(text, '%', size);
  const size_t end = remark ? (size_t)(remark - text) : size;
  size_t name_end = sizeof(prefix) - 1;
  while (name_end < end && !isspace((unsigned char)text[name_end])) {
    ++name_end;
  }
  const size_t name_size = name_end - (sizeof(prefix) - 1);
  for (size_t i = 0; i < sizeof(kinds) / sizeof(kinds[0]); ++i) {
    if (strlen(kinds[i].name) == name_size &&
        !memcmp(text + sizeof(prefix) - 1, kinds[i].name, name_size)) {
      char value[32];
      sr_line_copy(text + name_end, end - name_end, value, sizeof(value));
      const char* const wrong = kinds[i].read(value, &reader->tune->assignment);
      return wrong ? sr_tune_fail(reader, SR_BAD_SYNTAX, line, 0, wrong) : SR_OK;
    }
  }
  return SR_OK;
}

SrStatus
sr_assignment_read_text(const char* const text, const size_t size, const char* const name,
                        const SrPhraseChoice* const choice, SrAssignment* const assignment,
                        SrError* const error)
{
  memset(assignment, 0, sizeof(*assignment));
  if (size > SR_PHRASE_MOST_BYTES) {
    sr_error_set(error, SR_TOO_LARGE, "A tune file may be at most %u bytes.", SR_PHRASE_MOST_BYTES);
    sr_error_place(error, name, 0, 0);
    return SR_TOO_LARGE;
  }
  SrTune tune = {0};
  const SrStatus status = sr_tune_from_text(text, size, name, choice, &tune, error);
  if (status == SR_OK) {
    *assignment = tune.assignment;
  }
  free(tune.notes);
  free(tune.bars);
  return status;
}

SrStatus
sr_assignment_read_file(const char* const path, const SrPhraseChoice* const choice,
                        SrAssignment* const assignment, SrError* const error)
{
  char* text = NULL;
  size_t size = 0;
  memset(assignment, 0, sizeof(*assignment));
  SrStatus status = sr_tune_file_read(path, &text, &size, error);
  if (status == SR_OK) {
    status = sr_assignment_read_text(text, size, path, choice, assignment, error);
    free(text);
  }
  return status;
}

/// Add words to a list.
static void add_words(char* words, const char* format, ...) SR_PRINTF(2, 3);

static void
add_words(char* const words, const char* const format, ...)
{
  const size_t length = strlen(words);
  char* const end = words + length;
  const size_t room = SR_ASSIGNMENT_WORDS_SIZE - length;
  const int between = snprintf(end, room, "%s", length ? ", " : "");
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(end + between, room - (size_t)between, format, arguments);
  va_end(arguments);
}

const char*
sr_assignment_words(const SrAssignment* const assignment, char words[SR_ASSIGNMENT_WORDS_SIZE])
{
  static const char* const clicks[] = {"", "a click on each pulse", "a click on each bar",
                                       "no click"};
  words[0] = '\0';
  if (assignment->part) {
    add_words(words, "part %c", assignment->part);
  } else if (assignment->last_bar > assignment->first_bar) {
    add_words(words, "bars %d to %d", assignment->first_bar, assignment->last_bar);
  } else if (assignment->last_bar) {
    add_words(words, "bar %d", assignment->last_bar);
  }
  if (assignment->click) {
    add_words(words, "%s", clicks[assignment->click]);
  }
  if (assignment->on_bars && assignment->click != SR_ASSIGNED_CLICK_NONE) {
    if (assignment->off_bars) {
      add_words(words, "%u bar%s with the click and %u without", assignment->on_bars,
                assignment->on_bars == 1 ? "" : "s", assignment->off_bars);
    } else {
      add_words(words, "the click in every bar");
    }
  }
  if (assignment->ladder == SR_ASSIGNED_LADDER_YES) {
    add_words(words, "up the tempo ladder");
  }
  return words;
}
