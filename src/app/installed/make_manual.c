// SPDX-License-Identifier: GPL-3.0-or-later

// Writes steadyreed(1), for man(7), from what `--help` says, and topics.

#include "../help.h"
#include "../help_line.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/// Columns of the page's source, which nobody but a program reads.
#define WIDTH 72
/// A longer line is no heading, whatever it ends in.
#define HEADING 40

/// One character of text as roff.
static const char*
roff_of(const char c, char plain[2])
{
  switch (c) {
  case '\\':
    return "\\e";
  case '-':
    return "\\-";
  case '^':
    return "\\(ha";
  case '~':
    return "\\(ti";
  default:
    plain[0] = c;
    plain[1] = '\0';
    return plain;
  }
}

/// Write a word; what stands in back quotes, over several words too, is bold.
static size_t
write_word(const char* const word, const size_t size, bool* const quoted)
{
  char plain[2];
  size_t written = 0;
  for (size_t i = 0; i < size; ++i) {
    const char* text = roff_of(word[i], plain);
    if (word[i] == '`') {
      *quoted = !*quoted;
      text = *quoted ? "\\fB" : "\\fR";
    }
    fputs(text, stdout);
    written += strlen(text);
  }
  return written;
}

/// From `at` on, where the next word begins, or `size`.
static size_t
skip_spaces(const char* const text, size_t at, const size_t size)
{
  while (at < size && text[at] == ' ') {
    ++at;
  }
  return at;
}

static size_t
word_length(const char* const text, const size_t size)
{
  const char* const space = memchr(text, ' ', size);
  return space ? (size_t)(space - text) : size;
}

/// Write words on lines of their own.
static void
write_words(const char* const text, const size_t size)
{
  bool quoted = false;
  size_t column = 0;
  for (size_t at = skip_spaces(text, 0, size); at < size; at = skip_spaces(text, at, size)) {
    const size_t length = word_length(text + at, size - at);
    if (column > 0) {
      putchar(column + length > WIDTH ? '\n' : ' ');
      column = column + length > WIDTH ? 0 : column + 1;
    }
    if (column == 0 && strchr(".'", text[at])) {
      fputs("\\&", stdout); // else a request
    }
    column += write_word(text + at, length, &quoted);
    at += length;
  }
  putchar('\n');
}

/// Write a term: names in bold, what stands for something else in italics.
static void
write_term(const char* const text, const size_t size)
{
  bool quoted = false;
  bool first = true;
  for (size_t at = skip_spaces(text, 0, size); at < size; at = skip_spaces(text, at, size)) {
    const size_t length = word_length(text + at, size - at);
    const bool stands_for = isupper((unsigned char)text[at + (text[at] == '[')]);
    printf("%s\\f%c", first ? "" : " ", stands_for ? 'I' : 'B');
    write_word(text + at, length, &quoted);
    fputs("\\fR", stdout);
    first = false;
    at += length;
  }
  putchar('\n');
}

/// Write a heading, one of the page in capitals.
static void
write_heading(const char* const request, const char* const text, const size_t size)
{
  printf("%s ", request);
  for (size_t i = 0; i < size; ++i) {
    putchar(strcmp(request, ".SH") ? text[i] : toupper((unsigned char)text[i]));
  }
  putchar('\n');
}

/// "Usage: steadyreed assess PHRASE TAKE... [options]"
static void
write_usage(const SrHelpLine* const line)
{
  const size_t before = strlen("Usage: ");
  write_term(line->text + before, line->size - before);
}

static bool
begins(const SrHelpLine* const line, const char* const words)
{
  return line->size > strlen(words) && !strncmp(line->text, words, strlen(words));
}

/// Write a paragraph, `first` behind a heading, which begins one itself; returns whether it was a
/// heading.
static bool
write_paragraph(const SrHelpLine* const line, const bool program, const bool first)
{
  if (line->size < HEADING && line->text[0] != ' ' && line->text[line->size - 1] == ':') {
    write_heading(".SS", line->text, line->size - 1);
    return true;
  }
  if (program && begins(line, "Exit status: ")) {
    write_heading(".SH", "Exit status", strlen("Exit status"));
    write_words(line->text + strlen("Exit status: "), line->size - strlen("Exit status: "));
    return false;
  }
  fputs(first ? "" : ".PP\n", stdout);
  write_words(line->text, line->size);
  return false;
}

static void
write_help(const SrHelp* const help)
{
  const bool program = !help->command[0];
  const char* rest = help->text;
  bool heading = true;
  bool examples = false;
  for (SrHelpLine line; sr_help_next_line(help, &rest, &line);) {
    const bool example = line.kind == SR_HELP_COMMAND;
    if (example && !examples) {
      fputs(heading ? ".nf\n.RS\n" : ".PP\n.nf\n.RS\n", stdout);
    } else if (examples && !example) {
      fputs(".RE\n.fi\n", stdout);
    }
    examples = example;
    if (example) {
      bool quoted = false;
      write_word(line.text + 2, line.size - 2, &quoted);
      putchar('\n');
    } else if (line.kind == SR_HELP_TERM) {
      fputs(".TP\n", stdout);
      write_term(line.text, line.size);
      write_words(line.meaning, line.meaning_size);
    } else if (begins(&line, "Usage: ")) {
      if (!program) {
        write_usage(&line);
      }
      heading = program;
      continue;
    } else if (line.kind == SR_HELP_PARAGRAPH) {
      heading = write_paragraph(&line, program, heading);
      continue;
    }
    heading = heading && line.kind == SR_HELP_BLANK;
  }
  fputs(examples ? ".RE\n.fi\n" : "", stdout);
}

static void
write_section(const SrHelp* const help)
{
  write_heading(".SH", help->command, strlen(help->command));
  write_help(help);
}

int
main(void)
{
  printf(".TH STEADYREED 1 \"%s\" \"steadyreed %s\" \"User Commands\"\n", SR_DATE, SR_VERSION);
  fputs(".SH NAME\n"
        "steadyreed \\- listens to an Anglo concertina and judges a practised phrase\n"
        ".SH SYNOPSIS\n",
        stdout);
  for (size_t i = 1; i < SR_HELP_COUNT; ++i) {
    const char* rest = sr_helps[i].text;
    SrHelpLine line;
    if (sr_help_line(&rest, &line)) {
      fputs(i > 1 ? ".br\n" : "", stdout);
      write_term(line.text + strlen("Usage: "), line.size - strlen("Usage: "));
    }
  }
  fputs(".SH DESCRIPTION\n", stdout);
  write_help(&sr_helps[0]);
  for (size_t i = 1; i < SR_HELP_COUNT; ++i) {
    write_section(&sr_helps[i]);
  }
  for (size_t i = 0; i < SR_HELP_TOPIC_COUNT; ++i) {
    write_section(&sr_help_topics[i]);
  }
  return fflush(stdout) || ferror(stdout);
}
