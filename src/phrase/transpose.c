// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transpose.c
   A phrase in another key.
*/

#include "phrase_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Spell a transposed note for a key with `sharps`.
static void
name_transposed(SrPhraseNote* const note, const int sharps)
{
  static const char* const with_sharps[] = {"C",  "C♯", "D",  "D♯", "E",  "F",
                                            "F♯", "G",  "G♯", "A",  "A♯", "B"};
  static const char* const with_flats[] = {"C",  "D♭", "D",  "E♭", "E",  "F",
                                           "G♭", "G",  "A♭", "A",  "B♭", "B"};
  const char* const* const names = sharps < 0 ? with_flats : with_sharps;
  snprintf(note->name, sizeof(note->name), "%s", names[note->midi % 12]);
}

SrStatus
sr_phrase_shift(SrPhrase* const phrase, const int semitones, SrError* const error)
{
  // A semitone is seven fifths; of enharmonic keys use the one with the fewest accidentals
  const int sharps = ((phrase->sharps + 7 * semitones + 5) % 12 + 12) % 12 - 5;
  for (size_t i = 0; semitones != 0 && i < phrase->note_count; ++i) {
    SrPhraseNote* const note = &phrase->notes[i];
    int lowest = note->midi;
    int highest = note->midi;
    int* pitches[2 + SR_ORNAMENT_SIZE + SR_CHORD_SIZE] = {&note->midi};
    size_t count = 1;
    if (note->cut_midi >= 0) {
      pitches[count++] = &note->cut_midi;
    }
    for (int j = 0; j < note->ornament_count; ++j) {
      pitches[count++] = &note->ornament_midi[j];
    }
    for (int j = 0; j < note->chord_count; ++j) {
      pitches[count++] = &note->chord_midi[j];
    }
    for (size_t j = 0; j < count; ++j) {
      *pitches[j] += semitones;
      lowest = *pitches[j] < lowest ? *pitches[j] : lowest;
      highest = *pitches[j] > highest ? *pitches[j] : highest;
    }
    if (lowest < 0 || highest > 127) {
      return sr_error_set(error, SR_UNSUPPORTED,
                          "Transposed by %d semitones, a note in bar %d is out of range.",
                          semitones, note->bar);
    }
    name_transposed(note, sharps);
  }
  if (semitones != 0) {
    phrase->sharps = sharps;
    phrase->transposed += semitones;
  }
  return SR_OK;
}

SrStatus
sr_phrase_transpose(const SrPhrase* const phrase, const int semitones, SrPhrase** const other,
                    SrError* const error)
{
  *other = NULL;
  SrPhrase* const copy = (SrPhrase*)malloc(sizeof(SrPhrase));
  if (copy) {
    *copy = *phrase;
    copy->notes = (SrPhraseNote*)malloc(phrase->note_count * sizeof(SrPhraseNote));
    copy->bars = (SrPhraseBar*)malloc(phrase->bar_count * sizeof(SrPhraseBar));
  }
  if (!copy || !copy->notes || !copy->bars) {
    sr_phrase_del(copy);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  memcpy(copy->notes, phrase->notes, phrase->note_count * sizeof(SrPhraseNote));
  memcpy(copy->bars, phrase->bars, phrase->bar_count * sizeof(SrPhraseBar));
  const SrStatus status = sr_phrase_shift(copy, semitones, error);
  if (status != SR_OK) {
    sr_phrase_del(copy);
    return status;
  }
  *other = copy;
  return SR_OK;
}
