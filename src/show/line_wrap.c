// SPDX-License-Identifier: GPL-3.0-or-later

#include "text.h"

#include "../utf8.h"

#include <steadyreed/show.h>

#include <ctype.h>
#include <string.h>
#include <wchar.h>

/// Columns that must remain for words beside an indent on a terminal.
#define LEAST_WORDS 20u

/// Columns of the character at `bytes`; `size` receives its size, at least one byte.
static size_t
columns_at(const char* const bytes, size_t* const size)
{
  uint32_t code = 0;
  *size = sr_utf8_character(bytes, 4, &code);
  if (*size == 0) {
    *size = 1;
    return 1;
  }
  const int columns = wcwidth((wchar_t)code);
  return columns < 0 ? 1 : (size_t)columns; // unknown to the locale
}

static size_t
columns_of(const char* const text, const size_t length)
{
  size_t columns = 0;
  size_t size = 0;
  for (size_t at = 0; at < length; at += size) {
    columns += columns_at(text + at, &size);
  }
  return columns;
}

size_t
sr_show_columns(const char* const text)
{
  return columns_of(text, strlen(text));
}

/// State of the words being written.
typedef struct {
  FILE* stream;
  const SrShowLine* line;
  size_t width;  ///< Maximum width of a line of several words
  size_t most;   ///< Columns of the terminal, where a longer word is split
  size_t indent; ///< Indent of further lines
  size_t at;     ///< Current column
  bool fresh;    ///< No word on this line yet
} Words;

static void
write_spaces(Words* const words, const size_t count)
{
  fprintf(words->stream, "%*s", (int)count, "");
  words->at += count;
}

static void
begin_line(Words* const words, const size_t indent)
{
  fputc('\n', words->stream);
  words->at = 0;
  words->fresh = true;
  write_spaces(words, indent);
}

static void
go_on_below(Words* const words, const size_t indent)
{
  fputs(words->line->broken ? words->line->broken : "", words->stream);
  begin_line(words, indent);
}

/// Bytes of a word that fit into `room` columns, up to the last '/' if there is one; at least one
/// character.
static size_t
piece_of(const char* const word, const size_t length, const size_t room)
{
  size_t piece = 0;
  size_t slash = 0;
  size_t size = 0;
  for (size_t columns = 0; piece < length; piece += size) {
    columns += columns_at(word + piece, &size);
    if (columns > room && piece > 0) {
      return slash ? slash : piece;
    }
    slash = word[piece] == '/' ? piece + 1 : slash;
  }
  return length;
}

/// Write a word that fits no line of the terminal.
static void
write_cut(Words* const words, const char* word, size_t length)
{
  for (;;) {
    const size_t room = words->most > words->at ? words->most - words->at : 1;
    const size_t piece = piece_of(word, length, room);
    fwrite(word, 1, piece, words->stream);
    words->at += columns_of(word, piece);
    word += piece;
    length -= piece;
    if (length == 0) {
      return;
    }
    begin_line(words, words->indent);
  }
}

/// Write a word that follows the previous one after `spaces`.
static void
write_word(Words* const words, const size_t spaces, const char* const word, const size_t length)
{
  const size_t columns = columns_of(word, length);
  if (words->at + spaces + columns <= words->width) {
    write_spaces(words, spaces);
  } else {
    // A word that does not fit after the indent may fit with a smaller one
    const size_t beside = words->width > columns ? words->width - columns : 0;
    const bool less = words->line->columns && columns <= words->width && beside < words->indent;
    const size_t indent = less ? beside : words->indent;
    if (!words->fresh || words->at > indent) {
      go_on_below(words, indent);
    }
  }
  if (words->line->columns && words->at + columns > words->most) {
    write_cut(words, word, length);
  } else {
    fwrite(word, 1, length, words->stream);
    words->at += columns;
  }
  words->fresh = false;
}

/// Bytes of the word at `text`; in a command a quoted string is one word.
static size_t
bare_length(const Words* const words, const char* const text)
{
  const bool quoted = words->line->broken && (text[0] == '\'' || text[0] == '"');
  const char* const end = quoted ? strchr(text + 1, text[0]) : NULL;
  const size_t inside = end ? (size_t)(end - text) : 0;
  return inside + strcspn(text + inside, " \n");
}

/// Whether the word at `next` stays with the one before: the unit of a number, or the value of a
/// command's option.
static bool
stays_with(const Words* const words, const char* const text, const char* const next)
{
  return next[0] == ' ' && next[1] != ' ' &&
         (words->line->broken
              ? text[0] == '-' && next[1] != '-' && !memchr(text, ' ', (size_t)(next - text))
              : isdigit((unsigned char)next[-1]));
}

/// Bytes of the word at `text`, with what stays with it if that fits.
static size_t
word_length(const Words* const words, const char* const text)
{
  const size_t least = bare_length(words, text);
  size_t length = least;
  while (length > 0 && stays_with(words, text, text + length)) {
    length += 1 + strcspn(text + length + 1, " \n");
  }
  const bool fits = words->indent + columns_of(text, length) <= words->width;
  return fits || !words->line->columns ? length : least;
}

void
sr_show_words(FILE* const stream, const char* const text, const SrShowLine* const line)
{
  Words words = {.stream = stream, .line = line, .at = line->column, .fresh = true};
  words.width = line->columns && line->columns < SR_SHOW_COLUMNS ? line->columns : SR_SHOW_COLUMNS;
  words.width -= line->broken ? sr_show_columns(line->broken) : 0;
  words.most = line->columns;
  words.indent = line->columns && line->indent + LEAST_WORDS > words.width
                     ? (words.width > LEAST_WORDS ? words.width - LEAST_WORDS : 0)
                     : line->indent;
  const char* rest = text;
  size_t spaces = strspn(rest, " ");
  write_spaces(&words, spaces);
  for (rest += spaces; *rest; rest += spaces) {
    if (*rest == '\n') {
      begin_line(&words, words.indent);
      ++rest;
      spaces = strspn(rest, " ");
      continue;
    }
    const size_t length = word_length(&words, rest);
    write_word(&words, words.fresh ? 0 : spaces, rest, length);
    rest += length;
    spaces = strspn(rest, " ");
  }
}
