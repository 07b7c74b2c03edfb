// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file music_pitch.c
   Pitches in music code: accidentals, letters, octaves, and what the key and the bar add to them.
*/

#include "music.h"

#include <stdio.h>
#include <string.h>

const int SR_NATURAL[7] = {0, 2, 4, 5, 7, 9, 11};

void
sr_music_forget_accidentals(SrMusic* const m)
{
  for (size_t i = 0; i < HELD; ++i) {
    m->held[i] = NOT_WRITTEN;
  }
}

SrStatus
sr_music_take_pitch(SrMusic* const m, const bool grace, SrPitch* const pitch)
{
  const size_t start = m->at;
  pitch->accidental = NOT_WRITTEN;
  if (sr_music_peek(m, 0) == '^' || sr_music_peek(m, 0) == '_' || sr_music_peek(m, 0) == '=') {
    const char sign = sr_music_peek(m, 0);
    ++m->at;
    pitch->accidental = sign == '=' ? 0 : sign == '^' ? 1 : -1;
    if (sign != '=' && sr_music_peek(m, 0) == sign) {
      pitch->accidental *= 2;
      ++m->at;
    }
  }
  const char c = sr_music_peek(m, 0);
  static const char letters[] = "CDEFGABcdefgab";
  const char* const found = c ? strchr(letters, c) : NULL;
  if (!found) {
    return sr_music_fail(m, SR_BAD_SYNTAX, start, "An accidental needs a note after it");
  }
  ++m->at;
  pitch->letter = (int)(found - letters) % 7;
  pitch->octave = found - letters < 7 ? 5 : 6;
  for (; sr_music_peek(m, 0) == '\'' || sr_music_peek(m, 0) == ','; ++m->at) {
    pitch->octave += sr_music_peek(m, 0) == '\'' ? 1 : -1;
  }
  if (pitch->octave < 0 || pitch->octave > 10) {
    return sr_music_fail(m, SR_BAD_SYNTAX, start, "This note is out of range");
  }
  const SrKey* const key = &m->reader->fields.key;
  const size_t slot = (size_t)pitch->octave * 7 + (size_t)pitch->letter;
  if (pitch->accidental != NOT_WRITTEN) {
    // Also in a grace, as abc2midi does; the standard does not say
    const SrReach reach = m->reader->fields.reach;
    for (size_t octave = 0; octave < 11 && reach != SR_REACH_NOT; ++octave) {
      if (reach == SR_REACH_PITCH || octave == (size_t)pitch->octave) {
        m->held[octave * 7 + (size_t)pitch->letter] = pitch->accidental;
      }
    }
  } else if (m->tie_open && !grace && pitch->letter == m->tie_pitch.letter &&
             pitch->octave == m->tie_pitch.octave) {
    pitch->accidental = m->tie_pitch.accidental;
  } else if (m->held[slot] != NOT_WRITTEN) {
    pitch->accidental = m->held[slot];
  } else {
    pitch->accidental = key->accidental[pitch->letter];
  }
  pitch->midi =
      12 * pitch->octave + SR_NATURAL[pitch->letter] + pitch->accidental + sr_key_shift(key);
  if (pitch->midi < 0 || pitch->midi > 127) {
    return sr_music_fail(m, SR_BAD_SYNTAX, start, "This note is out of range");
  }
  return SR_OK;
}

bool
sr_music_starts_pitch(const char c)
{
  return c && strchr("^_=ABCDEFGabcdefg", c) != NULL;
}

int
sr_music_step_from(const SrMusic* const m, const SrPitch* const pitch, const int steps)
{
  const SrKey* const key = &m->reader->fields.key;
  const int place = 7 * pitch->octave + pitch->letter + steps;
  if (place < 0 || place >= HELD) {
    return -1;
  }
  const int held = m->held[place];
  const int accidental = held != NOT_WRITTEN ? held : key->accidental[place % 7];
  return 12 * (place / 7) + SR_NATURAL[place % 7] + accidental + sr_key_shift(key);
}

void
sr_music_name_note(const SrPitch* const pitch, char* const name, const size_t size)
{
  static const char* const signs[5] = {"♭♭", "♭", "", "♯", "♯♯"};
  snprintf(name, size, "%c%s", "CDEFGAB"[pitch->letter], signs[pitch->accidental + 2]);
}
