// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_abc.h"

#include <steadyreed/input.h>

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// Annotations at one note of the text.
typedef struct {
  SrTextPlace place;
  char words[160];
  char cut[8]; ///< Cut offered, as ABC; "" without
  size_t note; ///< The first note at this place in the text
} Mark;

typedef struct {
  Mark* marks;
  size_t count;
} Marks;

/// The text of the phrase's file, and what it is planned for.
typedef struct {
  char* text;
  size_t size;
  const SrInstrument* instrument;
} Tune;

static Mark*
mark_at(Marks* const marks, const unsigned line, const unsigned column)
{
  for (size_t i = 0; i < marks->count; ++i) {
    if (marks->marks[i].place.line == line && marks->marks[i].place.column == column) {
      return &marks->marks[i];
    }
  }
  Mark* const mark = &marks->marks[marks->count++];
  *mark = (Mark){.place = {.line = line, .column = column}, .note = SIZE_MAX};
  return mark;
}

/// Add an annotation to a mark unless it has it already.
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

/// Whether a note goes the same way each time it is played. A direction that is written down holds
/// for every playing.
static bool
goes_one_way(const SrPhrase* const phrase, const SrPlan* const plan, const size_t note)
{
  const SrPhraseNote* const written = sr_phrase_note(phrase, note);
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrPhraseNote* const other = sr_phrase_note(phrase, i);
    if (other->line == written->line && other->column == written->column &&
        plan->notes[i].direction != plan->notes[note].direction) {
      return false;
    }
  }
  return true;
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
    // Buttons last, because write_up_to() removes old ones only right before the note
    if ((i == 0 || note->turns) && written->direction == SR_DIRECTION_FREE &&
        goes_one_way(phrase, plan, i)) {
      add_words(mark, note->direction == SR_DIRECTION_PRESS ? "_press" : "_draw");
    }
    if (note->air > 0 && !written->air) {
      add_words(mark, "^air");
    }
    char words[32];
    if (note->cut_button >= 0) {
      snprintf(words, sizeof(words), "^(%s)",
               sr_instrument_button(instrument, (size_t)note->cut_button)->name);
      add_words(mark, words);
    }
    snprintf(words, sizeof(words), "^%s", sr_instrument_button(instrument, note->button)->name);
    add_words(mark, words);
  }
}

/// Whether a roll is written right before a place: it has its own cut.
static bool
asks_for_roll(const char* const text, const size_t at)
{
  const char* const here = text + at;
  return (at >= 1 && here[-1] == '~') ||
         (at >= 6 && (!strncmp(here - 6, "!roll!", 6) || !strncmp(here - 6, "+roll+", 6)));
}

/// Whether a text is a button name of hand, row and column: "L1-10".
static bool
names_place(const char* const text, const size_t size)
{
  static const char digits[] = "0123456789";
  if (size < 4 || (text[0] != 'L' && text[0] != 'R')) {
    return false;
  }
  const size_t row = strspn(text + 1, digits);
  const char* const dash = text + 1 + row;
  return row > 0 && *dash == '-' && dash + 1 < text + size &&
         dash + 1 + strspn(dash + 1, digits) == text + size;
}

/// Whether a text is the name of a button of an instrument, which may be any.
static bool
names_button(const SrInstrument* const instrument, const char* const text, const size_t size)
{
  for (size_t i = 0; i < sr_instrument_button_count(instrument); ++i) {
    const char* const name = sr_instrument_button(instrument, i)->name;
    if (strlen(name) == size && !strncmp(name, text, size)) {
      return true;
    }
  }
  return false;
}

/// Whether the text between two quotes is a button as plans write it: "^L1-10", or "^(L1-10)" of a
/// cut.
static bool
is_button(const SrInstrument* const instrument, const char* quoted, size_t size)
{
  if (size < 2 || quoted[0] != '^') {
    return false;
  }
  ++quoted;
  --size;
  if (size > 2 && quoted[0] == '(' && quoted[size - 1] == ')') {
    ++quoted;
    size -= 2;
  }
  return names_place(quoted, size) || names_button(instrument, quoted, size);
}

/// Write a text up to a place, without the button names that an earlier plan wrote right before it.
static void
write_up_to(FILE* const stream, const SrInstrument* const instrument, const char* const text,
            const size_t from, const size_t at)
{
  size_t start = at;
  while (start > from + 1 && text[start - 1] == '"') {
    size_t open = start - 2;
    while (open > from && text[open] != '"' && text[open] != '\n' && text[open] != '\r') {
      --open;
    }
    if (text[open] != '"') {
      break;
    }
    start = open;
  }
  fwrite(text + from, 1, start - from, stream);
  while (start < at) {
    const char* const close = (const char*)memchr(text + start + 1, '"', at - start - 1);
    const size_t size = (size_t)(close - (text + start)) + 1;
    if (!is_button(instrument, text + start + 1, size - 2)) {
      fwrite(text + start, 1, size, stream);
    }
    start += size;
  }
}

static int
by_place(const void* const a, const void* const b)
{
  const SrTextPlace* const one = &((const Mark*)a)->place;
  const SrTextPlace* const other = &((const Mark*)b)->place;
  const int lines = (one->line > other->line) - (one->line < other->line);
  return lines ? lines : (one->column > other->column) - (one->column < other->column);
}

/// Find the byte offsets of all marks. False without memory, or if a place is not in the text.
static bool
find_places(const Tune* const tune, const Marks* const marks)
{
  SrTextPlace* const places = (SrTextPlace*)calloc(marks->count + 1, sizeof(SrTextPlace));
  if (!places) {
    return false;
  }
  if (marks->count) {
    qsort(marks->marks, marks->count, sizeof(Mark), by_place);
  }
  for (size_t i = 0; i < marks->count; ++i) {
    places[i] = marks->marks[i].place;
  }
  sr_text_places(tune->text, tune->size, places, marks->count);
  bool found = true;
  for (size_t i = 0; i < marks->count; ++i) {
    marks->marks[i].place = places[i];
    found = found && places[i].at != SIZE_MAX;
  }
  free(places);
  return found;
}

/// Write the whole text with its marks. False if it could not be written.
static bool
write_tune(FILE* const stream, const Tune* const tune, const Marks* const marks)
{
  size_t done = 0;
  for (size_t i = 0; i < marks->count; ++i) {
    const Mark* const mark = &marks->marks[i];
    const size_t at = mark->place.at;
    write_up_to(stream, tune->instrument, tune->text, done, at);
    if (mark->cut[0] && !asks_for_roll(tune->text, at)) {
      fprintf(stream, "{%s}", mark->cut);
    }
    fputs(mark->words, stream);
    done = at;
  }
  fwrite(tune->text + done, 1, tune->size - done, stream);
  return !ferror(stream);
}

// Further cuts ----------------------------------------------------------------------------------

/// A shorter note, whole notes, has no time for another cut.
#define LEAST_LENGTH (1.0 / 8.0)

/// A pitch of the tune as an ABC letter without accidental; how the key changes it is checked when
/// the result is read back. False if the tune does not have it.
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

/// Whether another cut would fit on a note.
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
           const SrPlan* const plan, const SrPlanStyle* const style, const Marks* const marks)
{
  for (size_t m = 0; m < marks->count; ++m) {
    Mark* const mark = &marks->marks[m];
    const SrPlannedNote* const note = &plan->notes[mark->note];
    const int midi = sr_phrase_note(phrase, mark->note)->midi;
    int cut_midi;
    if (!has_room(phrase, mark->note) ||
        sr_plan_cut(instrument, style, note->button, note->direction, midi, false, &cut_midi) < 0 ||
        !letter_of(phrase, cut_midi, mark->cut)) {
      mark->cut[0] = '\0';
    }
  }
}

/// The first note at which a text differs from the tune with the cuts offered; the note count if
/// none does.
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
        (a->cut_midi < 0 && b->cut_midi >= 0 && above < 1)) {
      return i;
    }
  }
  return count;
}

/// The first note at which the output would differ from the tune; the note count if none does,
/// SIZE_MAX without memory.
static size_t
written_differs(const Tune* const tune, const SrPhraseChoice* const choice,
                const SrPhrase* const phrase, const Marks* const marks)
{
  char* text = NULL;
  size_t size = 0;
  FILE* const memory = open_memstream(&text, &size);
  bool enough = memory && write_tune(memory, tune, marks);
  if (memory && fclose(memory)) {
    enough = false;
  }
  SrPhrase* other = NULL;
  if (enough) {
    sr_phrase_read_text(text, size, "variation", choice, &other, NULL);
  }
  const size_t at = enough ? first_difference(phrase, other) : SIZE_MAX;
  sr_phrase_del(other);
  free(text);
  return at;
}

/// Remove cuts until the output reads as the tune again: an accidental of the key, or a letter that
/// the key alters, may make a cut wrong. Returns as written_differs().
static size_t
keep_the_tune(const Tune* const tune, const SrPhraseChoice* const choice,
              const SrPhrase* const phrase, const Marks* const marks)
{
  const size_t count = sr_phrase_note_count(phrase);
  for (;;) {
    const size_t at = written_differs(tune, choice, phrase, marks);
    // The last cut offered up to there
    Mark* guilty = NULL;
    for (size_t m = 0; at < count && m < marks->count; ++m) {
      Mark* const mark = &marks->marks[m];
      if (mark->cut[0] && mark->note <= at && (!guilty || mark->note > guilty->note)) {
        guilty = mark;
      }
    }
    for (size_t m = 0; at < count && !guilty && m < marks->count; ++m) {
      guilty = marks->marks[m].cut[0] ? &marks->marks[m] : NULL;
    }
    if (!guilty) {
      return at;
    }
    guilty->cut[0] = '\0';
  }
}

SrStatus
sr_plan_write_abc(FILE* const stream, const char* const path, const SrPhraseChoice* const choice,
                  const SrPhrase* const phrase, const SrInstrument* const instrument,
                  const SrPlan* const plan, const SrPlanStyle* const more_cuts,
                  SrError* const error)
{
  static const SrInputKind kind = {"tune file", SR_PHRASE_MOST_BYTES, false};
  Marks marks = {(Mark*)calloc(plan->note_count + 1, sizeof(Mark)), 0};
  Tune tune = {NULL, 0, instrument};
  SrStatus status =
      marks.marks ? sr_input_read(path, &kind, &tune.text, &tune.size, error) : SR_NO_MEMORY;
  if (status == SR_OK) {
    gather(phrase, instrument, plan, &marks);
    if (more_cuts) {
      offer_cuts(phrase, instrument, plan, more_cuts, &marks);
    }
    const bool found = find_places(&tune, &marks);
    const size_t at = found ? keep_the_tune(&tune, choice, phrase, &marks) : 0;
    const bool same = found && at == sr_phrase_note_count(phrase);
    if (at == SIZE_MAX || (same && !write_tune(stream, &tune, &marks))) {
      status = SR_NO_MEMORY;
    } else if (!same) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, at);
      status = sr_error_set(error, SR_UNSUPPORTED,
                            "The plan cannot be written into this text: from here on it would be "
                            "another tune. Nothing was written.");
      sr_error_place(error, path, note->line, note->column);
    }
  }
  if (status == SR_NO_MEMORY) {
    sr_error_set(error, status, "There is not enough memory to write the plan.");
  }
  free(tune.text);
  free(marks.marks);
  return status;
}
