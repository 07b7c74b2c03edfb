// SPDX-License-Identifier: GPL-3.0-or-later

// Lines about a take on a terminal: colour, line breaks and layout.

#ifndef SR_SHOW_SCREEN_H
#define SR_SHOW_SCREEN_H

#include "verdict_words.h"

#include <steadyreed/show.h>

#include <stdio.h>

// Colours of ECMA-48, used only together with a word of the same meaning.
#define SR_BOLD "\033[1m"
#define SR_YELLOW "\033[33m"
#define SR_CYAN "\033[36m"
#define SR_PLAIN "\033[0m"

typedef struct {
  FILE* stream;
  const SrShownTake* take;
  const SrShowStyle* style;
  SrNaming naming;
} SrScreen;

/// The sequence of a colour, "" without colours.
const char* sr_screen_colour(const SrScreen* screen, const char* sequence);
/// Write a line, broken if needed; it continues at `column`, and further lines are indented by
/// `indent`.
void sr_screen_line(const SrScreen* screen, size_t column, size_t indent, const char* format, ...)
    SR_PRINTF(4, 5);
/// Write a line about a note: bar, name and `words`.
void sr_screen_about(const SrScreen* screen, int bar, const char* name, const char* words);
/// Write a table of all notes of a round.
void sr_screen_all_notes(const SrScreen* screen, const SrRound* round);
/// Write the most frequent faults over all rounds, note by note.
void sr_screen_most_often(const SrScreen* screen, const SrAssessment* assessment);

#endif // SR_SHOW_SCREEN_H
