// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_abc.h"

#include <stdlib.h>
#include <string.h>

/// What stands at one note of the text.
typedef struct {
  unsigned line;
  unsigned column;
  char words[96];
} Mark;

typedef struct {
  Mark* marks;
  size_t count;
} Marks;

static Mark*
mark_at(Marks* const marks, const unsigned line, const unsigned column)
{
  for (size_t i = 0; i < marks->count; ++i) {
    if (marks->marks[i].line == line && marks->marks[i].column == column) {
      return &marks->marks[i];
    }
  }
  Mark* const mark = &marks->marks[marks->count++];
  *mark = (Mark){.line = line, .column = column};
  return mark;
}

/// Add an annotation to a mark unless it stands there already.
static void
add_words(Mark* const mark, const char* const words)
{
  char quoted[48];
  snprintf(quoted, sizeof(quoted), "\"%s\"", words);
  if (!strstr(mark->words, quoted) && strlen(mark->words) + strlen(quoted) < sizeof(mark->words)) {
    strcat(mark->words, quoted);
  }
}

static void
gather(const SrPhrase* const phrase, const SrInstrument* const instrument, const SrPlan* const plan,
       Marks* const marks)
{
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrPhraseNote* const written = sr_phrase_note(phrase, i);
    const SrPlannedNote* const note = &plan->notes[i];
    Mark* const mark = mark_at(marks, written->line, written->column);
    char words[32];
    snprintf(words, sizeof(words), "^%s", sr_instrument_button(instrument, note->button)->name);
    add_words(mark, words);
    if ((i == 0 || note->turns) && written->direction == SR_DIRECTION_FREE) {
      add_words(mark, note->direction == SR_DIRECTION_PRESS ? "_press" : "_draw");
    }
    if (note->air > 0 && !written->air) {
      add_words(mark, "^air");
    }
  }
}

/// Write one line with what belongs into it.
static void
write_line(FILE* const stream, const char* const line, const unsigned number,
           const Marks* const marks)
{
  unsigned column = 1;
  for (const char* c = line; *c; ++c) {
    const bool begins = ((unsigned char)*c & 0xC0u) != 0x80u;
    for (size_t i = 0; begins && i < marks->count; ++i) {
      if (marks->marks[i].line == number && marks->marks[i].column == column) {
        fputs(marks->marks[i].words, stream);
      }
    }
    column += begins;
    fputc(*c, stream);
  }
}

SrStatus
sr_plan_write_abc(FILE* const stream, const char* const path, const SrPhrase* const phrase,
                  const SrInstrument* const instrument, const SrPlan* const plan,
                  SrError* const error)
{
  Marks marks = {(Mark*)calloc(plan->note_count + 1, sizeof(Mark)), 0};
  FILE* const file = fopen(path, "r");
  SrStatus status = SR_OK;
  if (!marks.marks) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write the plan.");
  } else if (!file) {
    status = sr_error_set(error, SR_NOT_FOUND, "The phrase is no longer there.");
    sr_error_place(error, path, 0, 0);
  } else {
    gather(phrase, instrument, plan, &marks);
    char* line = NULL;
    size_t room = 0;
    unsigned number = 0;
    while (getline(&line, &room, file) >= 0) {
      write_line(stream, line, ++number, &marks);
    }
    free(line);
  }
  if (file) {
    fclose(file);
  }
  free(marks.marks);
  return status;
}
