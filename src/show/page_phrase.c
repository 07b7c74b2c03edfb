// SPDX-License-Identifier: GPL-3.0-or-later

#include "page_phrase.h"

#include <steadyreed/planned_note.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// What the values are made from.
typedef struct {
  const SrPhrase* phrase;
  const SrInstrument* instrument;
  const SrPlan* plan;
  const SrSpelling* spelling;
  SrPageWords* words;
  SrPagePhrase* made;
  size_t sound_count;
} Source;

static const char*
button_name(const Source* const source, const long button)
{
  return sr_page_words_keep(
      source->words,
      button < 0 ? "" : sr_instrument_button(source->instrument, (size_t)button)->name);
}

static SrStatus
add_sounds(Source* const source, const SrPlannedNote* const planned, SrDrawnStroke* const stroke)
{
  const SrPlannedSound* const sounds = planned->sounds;
  stroke->sound_count = planned->sound_count;
  stroke->sounds = &source->made->sounds[source->sound_count];
  for (size_t i = 0; i < stroke->sound_count; ++i) {
    const SrDrawnSound drawn = {
        .name = sr_page_words_note(source->words, sounds[i].midi, source->spelling, true),
        .button = button_name(source, sounds[i].button),
        .finger = sounds[i].finger,
    };
    if (!drawn.name || !drawn.button) {
      return SR_NO_MEMORY;
    }
    source->made->sounds[source->sound_count++] = drawn;
  }
  return SR_OK;
}

static SrStatus
add_cut(const Source* const source, const SrPhraseNote* const written,
        const SrPlannedNote* const planned, SrDrawnStroke* const stroke)
{
  const bool cut = planned->cut_button >= 0;
  stroke->cut = cut                      ? SR_DRAWN_CUT
                : written->cut_midi >= 0 ? SR_DRAWN_CUT_LEFT_OUT
                                         : SR_DRAWN_NO_CUT;
  stroke->cut_finger = cut ? planned->cut_finger : SR_FINGER_INDEX;
  stroke->cut_name = sr_page_words_note(source->words, cut ? planned->cut_midi : written->cut_midi,
                                        source->spelling, false);
  stroke->cut_button = button_name(source, planned->cut_button);
  return stroke->cut_name && stroke->cut_button ? SR_OK : SR_NO_MEMORY;
}

/// Add a note of a listed bar that begins at `bar_start` in the drawing.
static SrStatus
add_stroke(Source* const source, const size_t part, const size_t bar, const size_t note,
           const double bar_start)
{
  SrPagePhrase* const made = source->made;
  const SrPhraseNote* const written = sr_phrase_note(source->phrase, note);
  const SrPlannedNote* const planned = &source->plan->notes[note];
  const SrPhraseBar* const played = sr_phrase_bar(source->phrase, made->folded.bars[bar].bar);
  SrDrawnStroke* const stroke = &made->strokes[made->drawn.stroke_count];
  char air[SR_FOLDED_AIR_SIZE];
  char octave[16];
  snprintf(octave, sizeof(octave), "%d", sr_planned_octave(written));
  stroke->start = bar_start + sr_fraction_value(written->start) - sr_fraction_value(played->start);
  stroke->length = sr_fraction_value(written->length);
  stroke->before = (double)planned->before / SR_BELLOWS_UNITS;
  stroke->after = (double)planned->after / SR_BELLOWS_UNITS;
  stroke->draw = planned->direction == SR_DIRECTION_DRAW;
  stroke->turns = planned->turns;
  stroke->finger = planned->finger;
  stroke->name = sr_page_words_keep(source->words, written->name);
  stroke->octave = sr_page_words_keep(source->words, octave);
  stroke->button = button_name(source, (long)planned->button);
  stroke->air_words =
      sr_page_words_keep(source->words, sr_folded_air(source->phrase, source->plan, &made->folded,
                                                      part, bar, note, air));
  if (!stroke->name || !stroke->octave || !stroke->button || !stroke->air_words ||
      add_cut(source, written, planned, stroke) != SR_OK ||
      add_sounds(source, planned, stroke) != SR_OK) {
    return SR_NO_MEMORY;
  }
  stroke->air = *stroke->air_words != '\0';
  ++made->drawn.stroke_count;
  return SR_OK;
}

/// Add a listed bar with its notes.
static SrStatus
add_bar(Source* const source, const size_t part, const size_t index)
{
  static const char* const ENDINGS[] = {NULL, "1st time", "2nd time"};
  SrPagePhrase* const made = source->made;
  const SrFoldedBar* const listed = &made->folded.bars[index];
  const SrPhraseBar* const played = sr_phrase_bar(source->phrase, listed->bar);
  const SrDrawnBar* const last = index ? &made->bars[index - 1] : NULL;
  const SrDrawnBar drawn = {
      .start = last ? last->start + last->length : 0.0,
      .length = sr_fraction_value(played->length),
      .pulse = sr_fraction_value(played->pulse),
      .number = played->number,
      .like = listed->like == SR_LIKE_NONE ? SR_DRAWN_LIKE_NONE : listed->like,
      .words = ENDINGS[listed->ending],
  };
  made->bars[index] = drawn;
  const size_t end = sr_folded_first_note(source->phrase, listed->bar + 1);
  for (size_t i = sr_folded_first_note(source->phrase, listed->bar); i < end; ++i) {
    const SrStatus status = add_stroke(source, part, index, i, drawn.start);
    if (status != SR_OK) {
      return status;
    }
  }
  return SR_OK;
}

static SrStatus
add_parts(Source* const source)
{
  SrPagePhrase* const made = source->made;
  for (size_t p = 0; p < made->folded.part_count; ++p) {
    const SrFoldedPart* const part = &made->folded.parts[p];
    const SrDrawnPart drawn = {part->words, part->first_bar, part->bar_count};
    made->parts[p] = drawn;
    for (size_t i = 0; i < part->bar_count; ++i) {
      const SrStatus status = add_bar(source, p, part->first_bar + i);
      if (status != SR_OK) {
        return status;
      }
    }
  }
  made->drawn.strokes = made->strokes;
  made->drawn.bars = made->bars;
  made->drawn.bar_count = made->folded.bar_count;
  made->drawn.parts = made->parts;
  made->drawn.part_count = made->folded.part_count;
  return SR_OK;
}

SrStatus
sr_page_phrase_make(const SrPhrase* const phrase, const SrInstrument* const instrument,
                    const SrPlan* const plan, const SrSpelling* const spelling,
                    SrPageWords* const words, SrPagePhrase* const made)
{
  memset(made, 0, sizeof(*made));
  const SrStatus status = sr_fold(phrase, plan, &made->folded);
  if (status != SR_OK) {
    return status;
  }
  const size_t notes = plan->note_count;
  size_t sounds = 0;
  for (size_t i = 0; i < notes; ++i) {
    sounds += plan->notes[i].sound_count;
  }
  made->strokes = calloc(notes + 1, sizeof(SrDrawnStroke));
  made->sounds = calloc(sounds + 1, sizeof(SrDrawnSound));
  made->bars = calloc(made->folded.bar_count + 1, sizeof(SrDrawnBar));
  made->parts = calloc(made->folded.part_count + 1, sizeof(SrDrawnPart));
  if (!made->strokes || !made->sounds || !made->bars || !made->parts) {
    return SR_NO_MEMORY;
  }
  Source source = {phrase, instrument, plan, spelling, words, made, 0};
  return add_parts(&source);
}

void
sr_page_phrase_clear(SrPagePhrase* const made)
{
  sr_folded_clear(&made->folded);
  free(made->strokes);
  free(made->sounds);
  free(made->bars);
  free(made->parts);
  memset(made, 0, sizeof(*made));
}
