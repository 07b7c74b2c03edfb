// SPDX-License-Identifier: GPL-3.0-or-later

// The words of a sheet as they are drawn, with the area of their letters.

#ifndef TALK_H
#define TALK_H

#include "show/sheet.h"

/// One thing said.
typedef struct {
  char text[512];
  SrArea letters;
  size_t page;
} Said;

/// All that was said, in order.
typedef struct {
  Said* said;
  size_t count;
  size_t room;
  size_t page;
} Talk;

/// For SrPen.said, with a Talk as its context.
void talk_hear(void* context, const char* text, const SrArea* letters);
/// Draw all pages, and take down what is said.
void talk_draw(const SrSheet* sheet, Talk* talk);
void talk_clear(Talk* talk);

/// Whether words are the name of a note, with those of its button and its finger after them.
bool talk_is_note(const Talk* talk, size_t index, const SrDrawnStroke* stroke);
/// How often a note is said.
size_t talk_notes(const Talk* talk, const SrDrawnStroke* stroke);

#endif // TALK_H
