// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file music_bars.c
   Bar lines, repeats and endings in music code, and the numbers of bars.
*/

#include "music.h"

#include <ctype.h>
#include <stdlib.h>

/// Most times a repeat is played; one bit of an unsigned for each.
#define MOST_TIMES 30

void
sr_music_open_bar(SrMusic* const m)
{
  m->bar = (SrWrittenBar){0};
  m->bar.first = m->reader->tune->note_count;
  m->time = sr_fraction(0, 1);
  m->last_is_note = false;
}

SrStatus
sr_music_add_bar(SrMusic* const m, const size_t at)
{
  SrTune* const tune = m->reader->tune;
  if (tune->bar_count == SR_PHRASE_MOST_BARS) {
    return sr_music_fail(m, SR_TOO_LARGE, at, "A tune may have 4096 bars at most");
  }
  if (tune->bar_count == tune->bar_size) {
    const size_t size = tune->bar_size ? 2 * tune->bar_size : 32;
    SrWrittenBar* const more = (SrWrittenBar*)realloc(tune->bars, size * sizeof(SrWrittenBar));
    if (!more) {
      return sr_error_set(m->reader->error, SR_NO_MEMORY, "There is not enough memory.");
    }
    tune->bars = more;
    tune->bar_size = size;
  }
  m->bar.length = m->time;
  m->bar.meter = m->reader->fields.meter;
  m->bar.section_start = m->section_start;
  m->bar.part = m->part;
  m->section_start = false;
  m->part = 0;
  tune->bars[tune->bar_count++] = m->bar;
  sr_music_open_bar(m);
  return SR_OK;
}

/// Handle a bar line: close the bar unless it is empty.
static SrStatus
end_bar(SrMusic* const m, const size_t at)
{
  sr_music_forget_accidentals(m);
  return m->time.numerator > 0 ? sr_music_add_bar(m, at) : SR_OK;
}

/// Parse the numbers of an ending: 1, 1,3 or 1-3.
static bool
take_endings(SrMusic* const m, unsigned* const endings)
{
  *endings = 0;
  do {
    int first = 0;
    int last = 0;
    if (!sr_music_take_number(m, &first)) {
      return *endings != 0;
    }
    last = first;
    if (sr_music_peek(m, 0) == '-' && isdigit((unsigned char)sr_music_peek(m, 1))) {
      ++m->at;
      sr_music_take_number(m, &last);
    }
    if (first < 1 || last > MOST_TIMES || last < first) {
      return false;
    }
    for (int i = first; i <= last; ++i) {
      *endings |= 1u << (unsigned)i;
    }
  } while (sr_music_peek(m, 0) == ',' && isdigit((unsigned char)sr_music_peek(m, 1)) && ++m->at);
  return true;
}

bool
sr_music_bracket_is_bar(const SrMusic* const m, const size_t ahead)
{
  const char next = sr_music_peek(m, ahead + 1);
  return next == '|' || isdigit((unsigned char)next);
}

SrStatus
sr_music_read_bar_line(SrMusic* const m)
{
  const size_t at = m->at;
  if (sr_music_peek(m, 0) == '[' && sr_music_peek(m, 1) == '|' && sr_music_peek(m, 2) == ']') {
    // An invisible bar line counts like any other
    m->at += 3;
    return end_bar(m, at);
  }
  size_t lines = 0;
  int colons_before = 0;
  int colons_behind = 0;
  bool thick = false;
  for (;; ++m->at) {
    const char c = sr_music_peek(m, 0);
    if (c == '|') {
      ++lines;
    } else if (c == ':') {
      if (lines) {
        ++colons_behind;
      } else {
        ++colons_before;
      }
    } else if ((c == ']' && lines) || (c == '[' && sr_music_peek(m, 1) == '|')) {
      thick = true;
    } else {
      break;
    }
  }
  if (!lines && colons_before >= 2) {
    // :: is the same as :||:
    colons_behind = colons_before / 2;
    colons_before = (colons_before + 1) / 2;
    lines = 1;
  }
  if (colons_before >= MOST_TIMES) {
    return sr_music_fail(m, SR_TOO_LARGE, at, "A repeat is played 30 times at most");
  }
  if (!lines && colons_before) {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "A colon needs a bar line beside it");
  }
  // |1 and [1 and | [1
  unsigned endings = 0;
  const size_t spaces_from = m->at;
  while (sr_music_peek(m, 0) == ' ' || sr_music_peek(m, 0) == '\t') {
    ++m->at;
  }
  const bool bracket = sr_music_peek(m, 0) == '[' && isdigit((unsigned char)sr_music_peek(m, 1));
  if (bracket || (m->at == spaces_from && isdigit((unsigned char)sr_music_peek(m, 0)))) {
    m->at += bracket;
    if (!take_endings(m, &endings)) {
      return sr_music_fail(m, SR_BAD_SYNTAX, at, "Endings are numbered from 1 to 30");
    }
  } else {
    m->at = spaces_from;
  }
  const bool section = colons_before || colons_behind || thick || lines > 1;
  SrTune* const tune = m->reader->tune;
  const SrStatus status = end_bar(m, at);
  if (status == SR_OK && tune->bar_count > 0) {
    SrWrittenBar* const before = &tune->bars[tune->bar_count - 1];
    before->end_repeats = colons_before ? colons_before : before->end_repeats;
    before->section_end = before->section_end || section;
  }
  m->bar.start_repeat = m->bar.start_repeat || colons_behind > 0;
  if (endings) {
    m->bar.endings = endings;
  }
  m->section_start = m->section_start || section;
  return status;
}

void
sr_music_number_bars(SrTune* const tune)
{
  int number = 0;
  for (size_t i = 0; i < tune->bar_count; ++i) {
    SrWrittenBar* const bar = &tune->bars[i];
    const SrFraction whole = sr_meter_length(&bar->meter);
    const bool is_short = whole.numerator > 0 && sr_fraction_compare(bar->length, whole) < 0;
    const bool pickup = is_short && bar->section_start && !bar->endings && i + 1 < tune->bar_count;
    bar->offset = pickup ? sr_fraction_subtract(whole, bar->length) : sr_fraction(0, 1);
    bar->number = pickup ? 0 : ++number;
  }
}
