// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_abc.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// What stands at one note of the text.
typedef struct {
  unsigned line;
  unsigned column;
  char words[96];
  char cut[8]; ///< A cut offered, as ABC; "" without
  size_t note; ///< The first note that stands there
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
  *mark = (Mark){.line = line, .column = column, .note = SIZE_MAX};
  return mark;
}

/// Add an annotation to a mark unless it stands there already.
static void
add_words(Mark* const mark, const char* const words)
{
  char quoted[48];
  snprintf(quoted, sizeof(quoted), "\"%s\"", words);
  const size_t length = strlen(mark->words);
  if (!strstr(mark->words, quoted) && length + strlen(quoted) < sizeof(mark->words)) {
    snprintf(mark->words + length, sizeof(mark->words) - length, "%s", quoted);
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
    mark->note = mark->note == SIZE_MAX ? i : mark->note;
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
      const Mark* const mark = &marks->marks[i];
      if (mark->line == number && mark->column == column) {
        fprintf(stream, mark->cut[0] ? "{%s}%s" : "%s%s", mark->cut, mark->words);
      }
    }
    column += begins;
    fputc(*c, stream);
  }
}

/// Write the whole file with its marks. False without memory.
static bool
write_file(FILE* const stream, FILE* const file, const Marks* const marks)
{
  char* line = NULL;
  size_t room = 0;
  unsigned number = 0;
  rewind(file);
  while (getline(&line, &room, file) >= 0) {
    write_line(stream, line, ++number, marks);
  }
  free(line);
  return !ferror(stream);
}

// Where else cuts would fit -------------------------------------------------------------------

/// A shorter note, whole notes, has no time for one more cut.
#define LEAST_LENGTH (1.0 / 8.0)

/// A pitch of the tune as an ABC letter without accidental: what the key makes of it is seen when
/// it is read again. False if the tune does not have it.
static bool
letter_of(const SrPhrase* const phrase, const int midi, char letter[8])
{
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    if (note->midi % 12 == midi % 12) {
      const int octave = midi / 12 - 1;
      const char name = note->name[0];
      snprintf(letter, 8, "%c%s", octave >= 5 ? name + ('a' - 'A') : name,
               octave == 6   ? "'"
               : octave == 3 ? ","
                             : "");
      return octave >= 3 && octave <= 6;
    }
  }
  return false;
}

/// Whether one more cut would fit onto a note.
static bool
has_room(const SrPhrase* const phrase, const size_t index)
{
  const SrPhraseNote* const note = sr_phrase_note(phrase, index);
  const bool repeats = index > 0 && sr_phrase_note(phrase, index - 1)->midi == note->midi;
  const bool strong = sr_fraction_value(note->in_bar) < 1e-9;
  return note->cut_midi < 0 && note->ornament_count == 0 && (repeats || strong) &&
         sr_fraction_value(note->length) >= LEAST_LENGTH - 1e-9;
}

static void
offer_cuts(const SrPhrase* const phrase, const SrInstrument* const instrument,
           const SrPlan* const plan, const Marks* const marks)
{
  for (size_t m = 0; m < marks->count; ++m) {
    Mark* const mark = &marks->marks[m];
    const SrPlannedNote* const note = &plan->notes[mark->note];
    const int midi = sr_phrase_note(phrase, mark->note)->midi;
    int cut_midi;
    if (!has_room(phrase, mark->note) ||
        sr_plan_cut(instrument, note->button, note->direction, midi, midi + 3, &cut_midi) < 0 ||
        !letter_of(phrase, cut_midi, mark->cut)) {
      mark->cut[0] = '\0';
    }
  }
}

/// The first note at which a text is no longer the tune with the cuts offered; the note count if it
/// is.
static size_t
first_difference(const SrPhrase* const phrase, const SrPhrase* const other)
{
  const size_t count = sr_phrase_note_count(phrase);
  if (!other || sr_phrase_note_count(other) != count) {
    return 0;
  }
  for (size_t i = 0; i < count; ++i) {
    const SrPhraseNote* const a = sr_phrase_note(phrase, i);
    const SrPhraseNote* const b = sr_phrase_note(other, i);
    const int above = b->cut_midi - b->midi;
    if (a->midi != b->midi || (a->cut_midi >= 0 && a->cut_midi != b->cut_midi) ||
        (b->cut_midi >= 0 && above < 1)) {
      return i;
    }
  }
  return count;
}

/// Take cuts back until what is written is still the tune: an accidental of the key, or a letter
/// that the key makes another note of, may stand against one. False without memory.
static bool
keep_the_tune(FILE* const file, const SrPhraseChoice* const choice, const SrPhrase* const phrase,
              const Marks* const marks)
{
  const size_t count = sr_phrase_note_count(phrase);
  for (size_t tries = 0; tries <= marks->count; ++tries) {
    char* text = NULL;
    size_t size = 0;
    FILE* const memory = open_memstream(&text, &size);
    if (!memory) {
      return false;
    }
    const bool written = write_file(memory, file, marks);
    fclose(memory);
    SrPhrase* other = NULL;
    if (written) {
      sr_phrase_read_text(text, size, "variation", choice, &other, NULL);
    }
    const size_t at = first_difference(phrase, other);
    sr_phrase_del(other);
    free(text);
    if (at == count) {
      return true;
    }
    // The last cut offered up to there
    Mark* guilty = NULL;
    for (size_t m = 0; m < marks->count; ++m) {
      Mark* const mark = &marks->marks[m];
      if (mark->cut[0] && mark->note <= at && (!guilty || mark->note > guilty->note)) {
        guilty = mark;
      }
    }
    for (size_t m = 0; !guilty && m < marks->count; ++m) {
      guilty = marks->marks[m].cut[0] ? &marks->marks[m] : NULL;
    }
    if (!guilty) {
      return true;
    }
    guilty->cut[0] = '\0';
  }
  return true;
}

SrStatus
sr_plan_write_abc(FILE* const stream, const char* const path, const SrPhraseChoice* const choice,
                  const SrPhrase* const phrase, const SrInstrument* const instrument,
                  const SrPlan* const plan, const bool more_cuts, SrError* const error)
{
  Marks marks = {(Mark*)calloc(plan->note_count + 1, sizeof(Mark)), 0};
  FILE* const file = fopen(path, "r");
  SrStatus status = SR_OK;
  if (!file) {
    status = sr_error_set(error, SR_NOT_FOUND, "The phrase is no longer there.");
    sr_error_place(error, path, 0, 0);
  } else {
    bool enough = marks.marks != NULL;
    if (enough) {
      gather(phrase, instrument, plan, &marks);
    }
    if (enough && more_cuts) {
      offer_cuts(phrase, instrument, plan, &marks);
      enough = keep_the_tune(file, choice, phrase, &marks);
    }
    if (!enough || !write_file(stream, file, &marks)) {
      status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write the plan.");
    }
  }
  if (file) {
    fclose(file);
  }
  free(marks.marks);
  return status;
}
