// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file music_length.c
   Numbers and lengths in music code, broken rhythm and tuplets.
*/

#include "music.h"

#include <ctype.h>

/// Largest number in a written length.
#define MOST_LENGTH 1024

bool
sr_music_take_number(SrMusic* const m, int* const number)
{
  const size_t start = m->at;
  int value = 0;
  while (isdigit((unsigned char)sr_music_peek(m, 0))) {
    value = value > MOST_LENGTH ? value : value * 10 + (sr_music_peek(m, 0) - '0');
    ++m->at;
  }
  *number = value;
  return m->at > start;
}

SrStatus
sr_music_take_length(SrMusic* const m, SrFraction* const length)
{
  const size_t start = m->at;
  int numerator = 1;
  int denominator = 1;
  sr_music_take_number(m, &numerator);
  if (m->at == start) {
    numerator = 1;
  }
  if (sr_music_peek(m, 0) == '/') {
    ++m->at;
    if (!sr_music_take_number(m, &denominator)) {
      denominator = 2;
      while (sr_music_peek(m, 0) == '/' && denominator <= MOST_LENGTH) {
        denominator *= 2;
        ++m->at;
      }
    }
  }
  if (numerator < 1 || denominator < 1) {
    return sr_music_fail(m, SR_BAD_SYNTAX, start, "A note cannot have length zero");
  }
  if (numerator > MOST_LENGTH || denominator > MOST_LENGTH) {
    return sr_music_fail(m, SR_TOO_LARGE, start,
                         "Lengths go up to 1024 and down to 1/1024 of the unit");
  }
  *length = sr_fraction(numerator, denominator);
  return SR_OK;
}

SrStatus
sr_music_sounding_length(SrMusic* const m, const size_t at, const SrFraction written,
                         SrFraction* const length)
{
  SrFraction value = sr_fraction_multiply(written, m->reader->fields.unit);
  value = sr_fraction_multiply(value, m->broken);
  if (m->tuplet_left > 0) {
    value = sr_fraction_multiply(value, m->tuplet);
    --m->tuplet_left;
  }
  m->broken = sr_fraction(1, 1);
  m->broken_open = false;
  const SrFraction end = sr_fraction_add(m->time, value);
  if (!sr_fraction_valid(end) || value.numerator <= 0) {
    return sr_music_fail(m, SR_TOO_LARGE, at,
                         "The lengths of this bar do not add up to a usable fraction");
  }
  *length = value;
  return SR_OK;
}

void
sr_music_advance(SrMusic* const m, const SrFraction length, const size_t note)
{
  m->time = sr_fraction_add(m->time, length);
  m->last_is_note = true;
  m->last_length = length;
  m->last_note = note;
}

SrStatus
sr_music_read_broken(SrMusic* const m)
{
  const size_t at = m->at;
  const char sign = sr_music_peek(m, 0);
  int count = 0;
  while (sr_music_peek(m, 0) == sign) {
    ++count;
    ++m->at;
  }
  if (!m->last_is_note || m->broken_open) {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "Broken rhythm needs a note on either side");
  }
  if (count > 3) {
    return sr_music_fail(m, SR_TOO_LARGE, at, "Broken rhythm can have at most three signs");
  }
  const SrFraction small = sr_fraction(1, 1 << count);
  const SrFraction large = sr_fraction_subtract(sr_fraction(2, 1), small);
  const SrFraction before = sign == '>' ? large : small;
  m->broken = sign == '>' ? small : large;
  m->broken_open = true;
  const SrFraction length = sr_fraction_multiply(m->last_length, before);
  m->time = sr_fraction_add(sr_fraction_subtract(m->time, m->last_length), length);
  m->last_length = length;
  if (m->last_note != SIZE_MAX) {
    m->reader->tune->notes[m->last_note].note.length = length;
  }
  return sr_fraction_valid(m->time) ? SR_OK
                                    : sr_music_fail(m, SR_TOO_LARGE, at, "This length is too fine");
}

SrStatus
sr_music_read_tuplet(SrMusic* const m)
{
  const size_t at = m->at++;
  int p = 0;
  int q = 0;
  int r = 0;
  sr_music_take_number(m, &p);
  if (sr_music_peek(m, 0) == ':') {
    ++m->at;
    sr_music_take_number(m, &q);
    if (sr_music_peek(m, 0) == ':') {
      ++m->at;
      sr_music_take_number(m, &r);
    }
  }
  const SrMeter* const meter = &m->reader->fields.meter;
  const bool compound =
      meter->unit == 8 && (meter->beats == 6 || meter->beats == 9 || meter->beats == 12);
  static const int usual[10] = {0, 0, 3, 2, 3, 0, 2, 0, 3, 0};
  if (p < 2 || p > 9 || q > 64 || r > 64) {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "Tuplets have 2 to 9 notes");
  }
  if (m->tuplet_left > 0) {
    return sr_music_fail(m, SR_UNSUPPORTED, at, "A tuplet inside a tuplet is not read");
  }
  if (q == 0) {
    q = usual[p] ? usual[p] : compound ? 3 : 2;
  }
  m->tuplet = sr_fraction(q, p);
  m->tuplet_left = r ? r : p;
  return SR_OK;
}
