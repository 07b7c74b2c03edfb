// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file music_marks.c
   What is written before a note in music code: graces, annotations and decorations.
*/

#include "music.h"

#include <ctype.h>
#include <string.h>

void
sr_music_forget_waiting(SrMusic* const m)
{
  m->waiting = (SrWaiting){0, {0}, false, false, SR_DIRECTION_FREE};
}

void
sr_music_keep_mark(SrMusic* const m, const SrMark mark)
{
  if (mark == SR_MARK_AIR) {
    m->waiting.air = true;
  } else if (mark == SR_MARK_ROLL) {
    m->waiting.roll = true;
  } else if (mark != SR_MARK_NONE) {
    m->waiting.direction = mark == SR_MARK_PRESS ? SR_DIRECTION_PRESS : SR_DIRECTION_DRAW;
  }
}

void
sr_music_give_ornament(const SrMusic* const m, const SrPitch* const pitch, SrPhraseNote* const note)
{
  const SrWaiting* const waiting = &m->waiting;
  note->cut_midi = -1;
  note->ornament =
      waiting->roll ? SR_ORNAMENT_ROLL
                    : sr_ornament_of_graces(note->midi, waiting->grace_midi, waiting->grace_count);
  if (sr_ornament_is_judged(note->ornament)) {
    note->cut_midi = waiting->grace_midi[0];
    return;
  }
  note->ornament_count = waiting->grace_count;
  memcpy(note->ornament_midi, waiting->grace_midi, sizeof(note->ornament_midi));
  const int likely[2] = {sr_music_step_from(m, pitch, 2), sr_music_step_from(m, pitch, -1)};
  for (int i = 0; note->ornament == SR_ORNAMENT_ROLL && i < 2; ++i) {
    if (likely[i] >= 0 && likely[i] <= 127 && note->ornament_count < (int)SR_ORNAMENT_SIZE) {
      note->ornament_midi[note->ornament_count++] = likely[i];
    }
  }
}

SrStatus
sr_music_read_graces(SrMusic* const m)
{
  const size_t at = m->at++;
  int count = 0;
  int midi[SR_ORNAMENT_SIZE] = {0};
  if (sr_music_peek(m, 0) == '/') {
    ++m->at;
  }
  while (sr_music_peek(m, 0) && sr_music_peek(m, 0) != '}') {
    if (sr_music_starts_pitch(sr_music_peek(m, 0))) {
      SrPitch pitch;
      SrFraction length = {0, 1};
      SrStatus status = sr_music_take_pitch(m, true, &pitch);
      if (status == SR_OK) {
        status = sr_music_take_length(m, &length);
      }
      if (status != SR_OK) {
        return status;
      }
      if (count < (int)SR_ORNAMENT_SIZE) {
        midi[count] = pitch.midi;
      }
      ++count;
    } else if (strchr(" \t()><-~.[]", sr_music_peek(m, 0))) {
      ++m->at;
    } else {
      return sr_music_fail(m, SR_BAD_SYNTAX, m->at, "Only notes can be in a grace");
    }
  }
  if (sr_music_peek(m, 0) != '}') {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "This grace is not closed with }");
  }
  ++m->at;
  if (count > (int)SR_ORNAMENT_SIZE) {
    return sr_music_fail(m, SR_TOO_LARGE, at, "A grace may have 8 notes at most");
  }
  m->waiting.grace_count = count;
  memcpy(m->waiting.grace_midi, midi, sizeof(midi));
  return SR_OK;
}

SrStatus
sr_music_read_quoted(SrMusic* const m)
{
  const size_t at = m->at++;
  const char* const text = m->line->text + m->at;
  const char* const close = (const char*)memchr(text, '"', m->line->size - m->at);
  if (!close) {
    return sr_music_fail(m, SR_BAD_SYNTAX, at, "This text is not closed with a quotation mark");
  }
  const size_t size = (size_t)(close - text);
  m->at += size + 1;
  sr_music_keep_mark(m, sr_mark_read(text, size));
  return SR_OK;
}

void
sr_music_read_decoration(SrMusic* const m, const char mark)
{
  const char* const text = m->line->text + m->at + 1;
  const char* const close = (const char*)memchr(text, mark, m->line->size - m->at - 1);
  bool decoration = close != NULL;
  for (const char* c = text; decoration && c < close; ++c) {
    // Characters not allowed in a symbol's name (ABC 2.1, section 4.14)
    decoration = !isspace((unsigned char)*c) && !strchr("[]|:", *c);
  }
  if (decoration) {
    sr_music_keep_mark(m, sr_decoration_read(text, (size_t)(close - text)));
  }
  m->at = decoration ? (size_t)(close - m->line->text) + 1 : m->at + 1;
}
