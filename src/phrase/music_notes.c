// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file music_notes.c
   Notes, rests, chords and ties in music code.
*/

#include "music.h"

#include <stdlib.h>
#include <string.h>

static SrStatus
add_note(SrMusic* const m, const size_t at, const SrPitch* const pitch, const SrFraction length,
         const SrPhraseNote* const chord)
{
  SrTune* const tune = m->reader->tune;
  if (tune->note_count == SR_PHRASE_MOST_NOTES) {
    return sr_music_fail(m, SR_TOO_LARGE, at, "A tune may have 4096 notes at most");
  }
  if (tune->note_count == tune->note_size) {
    const size_t size = tune->note_size ? 2 * tune->note_size : 64;
    SrWrittenNote* const more = (SrWrittenNote*)realloc(tune->notes, size * sizeof(SrWrittenNote));
    if (!more) {
      return sr_error_set(m->reader->error, SR_NO_MEMORY, "There is not enough memory.");
    }
    tune->notes = more;
    tune->note_size = size;
  }
  SrWrittenNote* const written = &tune->notes[tune->note_count];
  memset(written, 0, sizeof(*written));
  SrPhraseNote* const note = &written->note;
  if (chord) {
    note->chord_count = chord->chord_count;
    memcpy(note->chord_midi, chord->chord_midi, sizeof(note->chord_midi));
  }
  note->midi = pitch->midi;
  sr_music_name_note(pitch, note->name, sizeof(note->name));
  note->start = m->time;
  note->length = length;
  sr_music_give_ornament(m, pitch, note);
  note->air = m->waiting.air;
  note->direction = m->waiting.direction;
  note->line = m->line->number;
  m->column += sr_line_characters(m->line, m->counted, at);
  m->counted = at;
  note->column = m->column;
  sr_music_forget_waiting(m);
  m->tie_open = false;
  sr_music_advance(m, length, tune->note_count);
  ++tune->note_count;
  ++m->bar.count;
  return SR_OK;
}

SrStatus
sr_music_read_note(SrMusic* const m)
{
  const size_t at = m->at;
  SrPitch pitch;
  SrFraction written = {0, 1};
  SrFraction length = {0, 1};
  SrStatus status = sr_music_take_pitch(m, false, &pitch);
  if (status == SR_OK) {
    status = sr_music_take_length(m, &written);
  }
  if (status == SR_OK) {
    status = sr_music_sounding_length(m, at, written, &length);
  }
  return status == SR_OK ? add_note(m, at, &pitch, length, NULL) : status;
}

SrStatus
sr_music_read_rest(SrMusic* const m)
{
  const size_t at = m->at;
  const char kind = m->line->text[m->at++];
  SrFraction written = {0, 1};
  SrFraction length = {0, 1};
  SrStatus status = sr_music_take_length(m, &written);
  m->tie_open = false;
  // A cut or mark before a rest belongs to no note
  sr_music_forget_waiting(m);
  if (status != SR_OK) {
    return status;
  }
  if (kind == 'z' || kind == 'x') {
    status = sr_music_sounding_length(m, at, written, &length);
    if (status == SR_OK) {
      sr_music_advance(m, length, SIZE_MAX);
    }
    return status;
  }
  // Whole-bar rests
  const SrFraction bar = sr_meter_length(&m->reader->fields.meter);
  if (written.denominator != 1 || bar.numerator == 0) {
    return sr_music_fail(m, SR_BAD_SYNTAX, at,
                         "A rest of whole bars needs a whole number and a meter");
  }
  for (int64_t i = 0; i < written.numerator && status == SR_OK; ++i) {
    m->time = sr_fraction_add(m->time, bar);
    if (i + 1 < written.numerator) {
      status = sr_music_add_bar(m, at);
    }
  }
  return status;
}

SrStatus
sr_music_read_chord(SrMusic* const m)
{
  const size_t at = m->at++;
  SrPhraseNote sounds = {0};
  SrPitch top = {0, 0, 0, -1};
  SrFraction inner = sr_fraction(1, 1);
  bool first = true;
  int latest = -1;
  int tied_midi = -2; // Highest tied pitch inside the brackets
  while (sr_music_peek(m, 0) && sr_music_peek(m, 0) != ']') {
    const char c = sr_music_peek(m, 0);
    if (sr_music_starts_pitch(c)) {
      SrPitch pitch;
      SrFraction length = {0, 1};
      SrStatus status = sr_music_take_pitch(m, false, &pitch);
      if (status == SR_OK) {
        status = sr_music_take_length(m, &length);
      }
      if (status != SR_OK) {
        return status;
      }
      // The first note's length is the chord's (ABC 2.1, section 4.17)
      inner = first ? length : inner;
      first = false;
      latest = pitch.midi;
      int below = pitch.midi;
      if (pitch.midi > top.midi) {
        below = top.midi;
        top = pitch;
      }
      if (below >= 0 && below != top.midi) {
        if (sounds.chord_count == (int)SR_CHORD_SIZE) {
          return sr_music_fail(m, SR_TOO_LARGE, at, "A chord may have 9 notes at most");
        }
        sounds.chord_midi[sounds.chord_count++] = below;
      }
    } else if (c == '-') {
      tied_midi = latest > tied_midi ? latest : tied_midi;
      ++m->at;
    } else if (c == '!' || c == '"') {
      const char* const rest = m->line->text + m->at + 1;
      const char* const close = (const char*)memchr(rest, c, m->line->size - m->at - 1);
      if (!close) {
        return sr_music_fail(m, SR_BAD_SYNTAX, m->at, "This mark is not closed");
      }
      m->at = (size_t)(close - m->line->text) + 1;
    } else if (strchr(" \t().~HLMOPSTuv", c)) {
      sr_music_keep_mark(m, c == '~' ? (SrMark)m->reader->fields.symbols['~'] : SR_MARK_NONE);
      ++m->at;
    } else {
      return sr_music_fail(m, SR_BAD_SYNTAX, m->at, "Only notes can be in a chord");
    }
  }
  if (sr_music_peek(m, 0) != ']') {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "This chord is not closed with ]");
  }
  ++m->at;
  if (first) {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "This chord is empty");
  }
  SrFraction outer;
  SrFraction length = {0, 1};
  SrStatus status = sr_music_take_length(m, &outer);
  if (status == SR_OK) {
    status = sr_music_sounding_length(m, at, sr_fraction_multiply(inner, outer), &length);
  }
  if (status == SR_OK) {
    status = add_note(m, at, &top, length, &sounds);
  }
  if (status == SR_OK && tied_midi == top.midi) {
    m->reader->tune->notes[m->last_note].tied = true;
    m->tie_open = true;
    m->tie_pitch = top;
  }
  return status;
}

SrStatus
sr_music_read_tie(SrMusic* const m)
{
  const size_t at = m->at++;
  SrTune* const tune = m->reader->tune;
  if (!m->last_is_note || m->last_note == SIZE_MAX) {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "A tie needs a note before it");
  }
  SrWrittenNote* const last = &tune->notes[m->last_note];
  last->tied = true;
  m->tie_open = true;
  // The sounding pitch, so that the accidental carries to the second note across the bar line
  const int natural = last->note.midi - sr_key_shift(&m->reader->fields.key);
  static const char letters[] = "CDEFGAB";
  m->tie_pitch.letter = (int)(strchr(letters, last->note.name[0]) - letters);
  for (int accidental = -2; accidental <= 2; ++accidental) {
    const int rest = natural - SR_NATURAL[m->tie_pitch.letter] - accidental;
    if (rest % 12 == 0 && rest >= 0) {
      char name[8];
      m->tie_pitch.accidental = accidental;
      m->tie_pitch.octave = rest / 12;
      sr_music_name_note(&m->tie_pitch, name, sizeof(name));
      if (!strcmp(name, last->note.name)) {
        break;
      }
    }
  }
  return SR_OK;
}
