// SPDX-License-Identifier: GPL-3.0-or-later

#include "pen_wrap.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

/// Longest line, bytes; a longer word is cut.
#define LONGEST 512

/// Whether a line may end after `length` bytes: a number stays with its unit.
static bool
may_end(const char* const text, const size_t length)
{
  return !text[length] || !isdigit((unsigned char)text[length - 1]);
}

/// Bytes of the next line at `text`; at least one word.
static size_t
line_length(const SrPen* const pen, const SrWrap* const wrap, const char* const text)
{
  char line[LONGEST];
  size_t length = 0;
  for (size_t end = strcspn(text, " "); end < LONGEST; end += 1 + strcspn(text + end + 1, " ")) {
    memcpy(line, text, end);
    line[end] = '\0';
    if (length && sr_pen_width(pen, &wrap->font, line) > wrap->width) {
      break;
    }
    length = !length || may_end(text, end) ? end : length;
    if (!text[end]) {
      break;
    }
  }
  return length ? length : strlen(text);
}

static double
leading_of(const SrWrap* const wrap)
{
  return wrap->font.size * (wrap->leading > 0.0 ? wrap->leading : 1.25);
}

double
sr_pen_wrap_height(const SrWrap* const wrap, const size_t lines)
{
  return (double)lines * leading_of(wrap);
}

/// Break the words, and draw them unless `left` is NULL. Returns the number of lines.
static size_t
wrap_words(const SrPen* const pen, const SrWrap* const wrap, const char* text,
           const double* const left, const double top)
{
  size_t lines = 0;
  SrFont font = wrap->font;
  font.most_width = wrap->width;
  font.smallest = 0.8;
  while (*text) {
    size_t length = line_length(pen, wrap, text);
    const bool last = wrap->most && lines + 1 == wrap->most && text[length];
    if (left) {
      char line[LONGEST + 8];
      snprintf(line, sizeof(line), "%.*s%s", (int)length, text, last ? " …" : "");
      sr_pen_say(pen, &font, line, *left, top + (double)lines * leading_of(wrap));
    }
    ++lines;
    if (last) {
      break;
    }
    text += length;
    text += strspn(text, " ");
  }
  return lines;
}

size_t
sr_pen_wrap_lines(const SrPen* const pen, const SrWrap* const wrap, const char* const text)
{
  return wrap_words(pen, wrap, text, NULL, 0.0);
}

double
sr_pen_wrap_say(const SrPen* const pen, const SrWrap* const wrap, const char* const text,
                const double left, const double top)
{
  return sr_pen_wrap_height(wrap, wrap_words(pen, wrap, text, &left, top));
}
