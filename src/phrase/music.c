// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file music.c
   Parsing the music code of the tune body (ABC 2.1, section 4) into notes and bars.
*/

#include "music.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

SrMusic*
sr_music_new(SrTuneReader* const reader)
{
  SrMusic* const m = (SrMusic*)calloc(1, sizeof(SrMusic));
  if (m) {
    m->reader = reader;
    m->broken = sr_fraction(1, 1);
    m->tuplet = sr_fraction(1, 1);
    m->section_start = true;
    sr_music_forget_accidentals(m);
    sr_music_forget_waiting(m);
    sr_music_open_bar(m);
  }
  return m;
}

void
sr_music_del(SrMusic* const m)
{
  free(m);
}

void
sr_music_part(SrMusic* const m, const char part)
{
  m->part = part;
}

SrStatus
sr_music_fail(const SrMusic* const m, const SrStatus status, const size_t at,
              const char* const what)
{
  return sr_tune_fail(m->reader, status, m->line, at, what);
}

char
sr_music_peek(const SrMusic* const m, const size_t ahead)
{
  return m->at + ahead < m->line->size ? m->line->text[m->at + ahead] : '\0';
}

static SrStatus
read_inline_field(SrMusic* const m)
{
  const size_t at = m->at;
  const char* const text = m->line->text + m->at;
  const char* const close = (const char*)memchr(text, ']', m->line->size - m->at);
  if (!close) {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "This field is not closed with ]");
  }
  const size_t size = (size_t)(close - text);
  m->at += size + 1;
  if (text[1] == 'P') {
    for (size_t i = 3; i < size; ++i) {
      if (text[i] >= 'A' && text[i] <= 'Z') {
        m->part = text[i];
        break;
      }
    }
    return SR_OK;
  }
  return sr_field_use(m->reader, m->line, at, text[1], text + 3, size - 3, true);
}

/// Skip to the next voice change, or to the end of the line.
static void
skip_voice(SrMusic* const m)
{
  const SrLine* const line = m->line;
  while (m->at < line->size &&
         !(line->size - m->at >= 3 && !memcmp(line->text + m->at, "[V:", 3))) {
    ++m->at;
  }
}

/// Parse the construct that starts here.
static SrStatus
read_construct(SrMusic* const m)
{
  const char c = sr_music_peek(m, 0);
  if (sr_music_starts_pitch(c)) {
    return sr_music_read_note(m);
  }
  switch (c) {
  case 'z':
  case 'x':
  case 'Z':
  case 'X':
    return sr_music_read_rest(m);
  case '{':
    return sr_music_read_graces(m);
  case '"':
    return sr_music_read_quoted(m);
  case '>':
  case '<':
    return sr_music_read_broken(m);
  case '|':
  case ':':
    return sr_music_read_bar_line(m);
  case '-':
    return sr_music_read_tie(m);
  case '(':
    if (isdigit((unsigned char)sr_music_peek(m, 1))) {
      return sr_music_read_tuplet(m);
    }
    ++m->at;
    return SR_OK;
  case '[':
    if (sr_music_bracket_is_bar(m, 0)) {
      return sr_music_read_bar_line(m);
    }
    return isalpha((unsigned char)sr_music_peek(m, 1)) && sr_music_peek(m, 2) == ':'
               ? read_inline_field(m)
               : sr_music_read_chord(m);
  case '!':
  case '+':
    sr_music_read_decoration(m, c);
    return SR_OK;
  case '&':
    return sr_music_fail(m, SR_UNSUPPORTED, m->at, "Voice overlays are not read");
  case 'y': {
    int number = 0;
    ++m->at;
    sr_music_take_number(m, &number);
    return SR_OK;
  }
  default:
    break;
  }
  // Decoration letters, slurs, spaces, beams, and reserved characters
  const bool letter = (c >= 'H' && c <= 'W') || (c >= 'h' && c <= 'w');
  if (letter || strchr(" \t.~)\\`$*;?@#]", c)) {
    sr_music_keep_mark(m, (SrMark)m->reader->fields.symbols[(unsigned char)c]);
    ++m->at;
    return SR_OK;
  }
  return sr_music_fail(m, SR_BAD_SYNTAX, m->at, "This is not music in ABC");
}

SrStatus
sr_music_line(SrMusic* const m, const SrLine* const line)
{
  m->line = line;
  m->at = 0;
  m->counted = 0;
  m->column = 1;
  SrStatus status = SR_OK;
  while (status == SR_OK && m->at < line->size) {
    if (m->reader->skips) {
      skip_voice(m);
      if (m->at == line->size) {
        break;
      }
    }
    if (!line->text[m->at]) {
      return sr_music_fail(m, SR_BAD_SYNTAX, m->at, "A zero byte is not text");
    }
    status = read_construct(m);
  }
  return status;
}

SrStatus
sr_music_finish(SrMusic* const m, const SrLine* const last)
{
  m->line = last;
  m->at = last->size;
  if (m->broken_open) {
    return sr_music_fail(m, SR_BAD_SYNTAX, m->at, "Broken rhythm without a note after it");
  }
  if (m->tuplet_left > 0) {
    return sr_music_fail(m, SR_BAD_SYNTAX, m->at, "The last tuplet has too few notes");
  }
  SrStatus status = SR_OK;
  if (m->time.numerator > 0) {
    status = sr_music_add_bar(m, m->at);
  }
  if (status == SR_OK && m->reader->tune->note_count == 0) {
    return sr_music_fail(m, SR_BAD_SYNTAX, m->at, "This tune has no notes");
  }
  if (status == SR_OK) {
    m->reader->tune->bars[m->reader->tune->bar_count - 1].section_end = true;
    sr_music_number_bars(m->reader->tune);
  }
  return status;
}
