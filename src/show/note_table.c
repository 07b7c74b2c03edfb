// SPDX-License-Identifier: GPL-3.0-or-later

#include "screen.h"

#include "text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Column of the words in the table of all notes; on a terminal with less room for words they go
/// below.
#define TABLE_COLUMN 46u
#define LEAST_BESIDE 24u

/// A rounded number with its sign; no sign for zero.
static void
signed_number(const double value, char* const text, const size_t size)
{
  text[0] = '\0';
  if (isfinite(value)) {
    const long rounded = lround(value);
    snprintf(text, size, rounded ? "%+ld" : "%ld", rounded);
  }
}

/// Words for the last column of the table of all notes.
static void
say_all(const SrScreen* const screen, const SrRound* const round, const size_t index,
        char* const words)
{
  const SrNoteVerdict* const note = &round->notes[index];
  sr_words_fault(&screen->naming, note, words);
  if (!words[0]) {
    sr_words_add(words, "played");
    if (note->has_cut || sr_words_is_listed(note)) {
      sr_words_add(words, ", ");
    }
    sr_words_ornament(note, words);
  }
  sr_words_air(round, index, true, words);
}

void
sr_screen_all_notes(const SrScreen* const screen, const SrRound* const round)
{
  const size_t columns = screen->style->columns;
  const bool narrow = columns && columns < TABLE_COLUMN + LEAST_BESIDE;
  fputs(narrow ? "  bar  note     heard    off  tuning\n"
                 "                  at s  pulse   cents\n"
                 "       what               ms\n"
               : "  bar  note    heard at  off pulse  tuning   what\n"
                 "                       s         ms   cents\n",
        screen->stream);
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    char name[SR_NOTE_NAME_SIZE];
    char* const clean = sr_text_terminal(sr_words_note_name(&screen->naming, round, i, name),
                                         screen->style->unicode);
    fprintf(screen->stream, "  %3d  %s", note->bar, clean ? clean : "");
    for (size_t at = 7 + (clean ? sr_show_columns(clean) : 0); at < 15; ++at) {
      fputc(' ', screen->stream);
    }
    free(clean);
    char onset[32] = "";
    char offset[32];
    char cents[32];
    if (isfinite(note->onset_s)) {
      snprintf(onset, sizeof(onset), "%.3f", note->onset_s);
    }
    signed_number(note->offset_ms, offset, sizeof(offset));
    signed_number(note->cents, cents, sizeof(cents));
    fprintf(screen->stream, narrow ? "%7s  %5s  %6s\n       " : "%9s  %9s  %6s   ", onset, offset,
            cents);
    char words[SR_WORDS_SIZE];
    say_all(screen, round, i, words);
    sr_screen_line(screen, narrow ? 7 : TABLE_COLUMN, narrow ? 9 : TABLE_COLUMN, "%s", words);
  }
}
