// SPDX-License-Identifier: GPL-3.0-or-later

// Sheets to draw, made from ABC and a simple way of playing: not by the search for the best one,
// but with turns, cuts and air where the bellows need them.

#ifndef MADE_SHEET_H
#define MADE_SHEET_H

#include "show/sheet.h"

#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

/// What to make.
typedef struct {
  const char* abc;      ///< Text; its bars are repeated `times`
  unsigned times;       ///< At least 1
  unsigned buttons;     ///< 20, 30, 38, or 96 (16 columns, 3 rows on each hand)
  double seconds_a_bar; ///< Of a whole note: how much of the bellows each note uses
  bool straight;
  bool alone;             ///< The buttons alone
  const char* title;      ///< Instead of the one in the ABC; NULL to keep it
  const char* extra_name; ///< Name of the first extra button, if there is one; NULL for a short one
  size_t bars_a_line;
} SheetOrder;

/// A sheet and what it points to.
typedef struct {
  SrSheetContent content;
  SrPhrase* phrase;
  SrDrawnButton* buttons;
  int (*midis)[2]; ///< Of each button: press, draw
  SrDrawnStroke* strokes;
  SrDrawnBar* bars;
  SrDrawnPart part; ///< All bars
  char (*octaves)[16];
  char (*names)[3][32]; ///< Of each button: name, press, draw
  char (*cuts)[16];
} MadeSheet;

/// Make it; false if the ABC is wrong.
bool made_sheet_make(const SheetOrder* order, MadeSheet* made);
void made_sheet_clear(MadeSheet* made);

/// The orders that all tests of sheets draw, with short names.
typedef struct {
  const char* name;
  SheetOrder order;
} SheetCase;
extern const SheetCase sheet_cases[];
extern const size_t sheet_case_count;

#endif // MADE_SHEET_H
