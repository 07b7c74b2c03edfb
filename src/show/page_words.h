// SPDX-License-Identifier: GPL-3.0-or-later

// The texts of a page: kept for its lifetime, fit to be drawn.

#ifndef SR_SHOW_PAGE_WORDS_H
#define SR_SHOW_PAGE_WORDS_H

#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

/// Longest text drawn, bytes; a longer one could not be read anyway.
#define SR_PAGE_LONGEST 400

/// Texts that live as long as the page. All zero is empty.
typedef struct {
  char** texts;
  size_t count;
  size_t room;
} SrPageWords;

/// Free all texts.
void sr_page_words_clear(SrPageWords* words);
/// Keep valid UTF-8 without control characters, of a length that can be drawn. NULL without memory.
const char* sr_page_words_keep(SrPageWords* words, const char* text);

/// Spelling of black keys by pitch class: true for a flat.
typedef struct {
  bool flat[12];
} SrSpelling;

/// C♯, E♭, F♯, G♯ and B♭ (common practice, no source), unless the phrase spells them otherwise.
/// `phrase` may be NULL.
SrSpelling sr_spelling_of(const SrPhrase* phrase);

/// Keep "F♯5", or "F♯" without the octave; "" for a negative MIDI number. NULL without memory.
const char* sr_page_words_note(SrPageWords* words, int midi, const SrSpelling* spelling,
                               bool octave);
#endif // SR_SHOW_PAGE_WORDS_H
