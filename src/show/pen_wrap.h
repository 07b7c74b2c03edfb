// SPDX-License-Identifier: GPL-3.0-or-later

// Words broken into lines between words, by the width of their letters.

#ifndef SR_SHOW_PEN_WRAP_H
#define SR_SHOW_PEN_WRAP_H

#include "pen.h"

/// Words to be broken.
typedef struct {
  SrFont font;
  double width;   ///< Of a line
  double leading; ///< From line to line, against the font's size; 0 for 1.25
  size_t most;    ///< Most lines, the last then ends in "…"; 0 for no limit
} SrWrap;

/// Number of lines that words take, at least 1 unless they are empty.
size_t sr_pen_wrap_lines(const SrPen* pen, const SrWrap* wrap, const char* text);
/// Draw words from a position down; returns their height.
double sr_pen_wrap_say(const SrPen* pen, const SrWrap* wrap, const char* text, double left,
                       double top);
/// Height of a number of lines.
double sr_pen_wrap_height(const SrWrap* wrap, size_t lines);

#endif // SR_SHOW_PEN_WRAP_H
