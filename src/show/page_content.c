// SPDX-License-Identifier: GPL-3.0-or-later

#include "page_content.h"

#include "text.h"

#include "../utf8.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Longest title drawn, bytes; a longer one could not be read anyway.
#define LONGEST_TITLE 400

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
}

/// Valid UTF-8 without control characters, of a length that can be drawn. NULL without memory.
static char*
drawable(const char* const text)
{
  char* const clean = sr_text_valid(text);
  if (!clean) {
    return NULL;
  }
  size_t size = strlen(clean);
  if (size > LONGEST_TITLE) {
    size = sr_utf8_whole(clean, LONGEST_TITLE);
    clean[size] = '\0';
  }
  for (size_t i = 0; i < size; ++i) {
    if ((unsigned char)clean[i] < 0x20u || clean[i] == 0x7F) {
      clean[i] = ' ';
    }
  }
  return clean;
}

/// Store a text for the lifetime of the content; NULL without memory.
static const char*
keep(SrPageContent* const content, const char* const text)
{
  char* const clean = drawable(text);
  if (!clean || content->text_count == content->text_room) {
    free(clean);
    return NULL;
  }
  content->texts[content->text_count++] = clean;
  return clean;
}

/// Spelling of black keys by pitch class: true for a flat.
typedef struct {
  bool flat[12];
} Spelling;

/// C♯, E♭, F♯, G♯ and B♭ (common practice, no source), unless the phrase spells them otherwise.
static Spelling
spelling_of(const SrPhrase* const phrase)
{
  Spelling spelling = {{false}};
  spelling.flat[3] = true;
  spelling.flat[10] = true;
  for (size_t i = phrase ? sr_phrase_note_count(phrase) : 0; i-- > 0;) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    if (strstr(note->name, "♭")) {
      spelling.flat[note->midi % 12] = true;
    } else if (strstr(note->name, "♯")) {
      spelling.flat[note->midi % 12] = false;
    }
  }
  return spelling;
}

/// "F♯5", or "F♯" without the octave.
static const char*
keep_note(SrPageContent* const content, const int midi, const Spelling* const spelling,
          const bool octave)
{
  char name[32] = "";
  if (midi >= 0) {
    sr_text_midi_name(midi, spelling->flat[midi % 12], name);
  }
  if (!octave) {
    name[strcspn(name, "-0123456789")] = '\0';
  }
  return keep(content, name);
}

static SrStatus
gather_buttons(const SrInstrument* const instrument, const SrPlan* const plan,
               const SrPageStyle* const style, const Spelling* const spelling,
               SrPageContent* const content)
{
  const size_t count = sr_instrument_button_count(instrument);
  for (size_t i = 0; i < count; ++i) {
    const SrButton* const button = sr_instrument_button(instrument, i);
    const SrDrawnButton drawn = {
        .hand = button->hand,
        .row = button->row,
        .column = button->column,
        .finger = button->finger,
        .name = keep(content, button->name),
        .press = keep_note(content, button->press_midi, spelling, true),
        .draw = keep_note(content, button->draw_midi, spelling, true),
    };
    if (!drawn.name || !drawn.press || !drawn.draw) {
      return SR_NO_MEMORY;
    }
    content->buttons[i] = drawn;
  }
  SrDrawnLayout* const layout = &content->sheet.layout;
  layout->buttons = content->buttons;
  layout->count = count;
  layout->air_hand = sr_instrument_air_hand(instrument);
  layout->air_finger = sr_instrument_air_finger(instrument);
  layout->straight = style->straight_rows;
  for (size_t i = 0; plan && i < plan->note_count; ++i) {
    const SrPlannedNote* const note = &plan->notes[i];
    SrDrawnButton* const button = &content->buttons[note->button];
    const bool draw = note->direction == SR_DIRECTION_DRAW;
    button->uses_draw = button->uses_draw || draw;
    button->uses_press = button->uses_press || !draw;
    if (note->cut_button >= 0) {
      SrDrawnButton* const cut = &content->buttons[note->cut_button];
      cut->uses_draw = cut->uses_draw || draw;
      cut->uses_press = cut->uses_press || !draw;
    }
    layout->uses_air = layout->uses_air || note->air > 0;
  }
  return SR_OK;
}

static SrStatus
gather_stroke(const SrPhraseNote* const written, const SrInstrument* const instrument,
              const SrPlannedNote* const planned, const Spelling* const spelling,
              SrPageContent* const content, SrDrawnStroke* const stroke)
{
  stroke->start = sr_fraction_value(written->start);
  stroke->length = sr_fraction_value(written->length);
  stroke->before = (double)planned->before / SR_BELLOWS_UNITS;
  stroke->after = (double)planned->after / SR_BELLOWS_UNITS;
  stroke->draw = planned->direction == SR_DIRECTION_DRAW;
  stroke->turns = planned->turns;
  stroke->air = planned->air > 0;
  stroke->cut = planned->cut_button >= 0 ? SR_DRAWN_CUT
                : written->cut_midi >= 0 ? SR_DRAWN_CUT_LEFT_OUT
                                         : SR_DRAWN_NO_CUT;
  stroke->name = keep(content, written->name);
  stroke->button = keep(content, sr_instrument_button(instrument, planned->button)->name);
  const int cut_midi = planned->cut_button >= 0 ? planned->cut_midi : written->cut_midi;
  stroke->cut_name = keep_note(content, cut_midi, spelling, false);
  stroke->cut_button =
      keep(content, planned->cut_button >= 0
                        ? sr_instrument_button(instrument, (size_t)planned->cut_button)->name
                        : "");
  return stroke->name && stroke->button && stroke->cut_name && stroke->cut_button ? SR_OK
                                                                                  : SR_NO_MEMORY;
}

static SrStatus
gather_phrase(const SrPhrase* const phrase, const SrInstrument* const instrument,
              const SrPlan* const plan, const Spelling* const spelling,
              SrPageContent* const content)
{
  const size_t bar_count = sr_phrase_bar_count(phrase);
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrStatus status = gather_stroke(sr_phrase_note(phrase, i), instrument, &plan->notes[i],
                                          spelling, content, &content->strokes[i]);
    if (status != SR_OK) {
      return status;
    }
  }
  for (size_t i = 0; i < bar_count; ++i) {
    const SrPhraseBar* const bar = sr_phrase_bar(phrase, i);
    const SrDrawnBar drawn = {sr_fraction_value(bar->start), sr_fraction_value(bar->length),
                              bar->number};
    content->bars[i] = drawn;
  }
  const SrDrawnPhrase drawn = {content->strokes, plan->note_count, content->bars, bar_count};
  content->sheet.phrase = drawn;
  return SR_OK;
}

/// The line under the title.
static char*
make_remark(const SrInstrument* const instrument, const SrPhrase* const phrase,
            const SrPageStyle* const style)
{
  char words[LONGEST_TITLE];
  const int most = 160;
  char tempo[64] = "";
  if (phrase && style->bpm > 0.0) {
    snprintf(tempo, sizeof(tempo), " · %.4g pulses a minute", style->bpm);
  }
  snprintf(words, sizeof(words), "%.*s%s%s%.*s", most,
           phrase ? sr_instrument_title(instrument) : "", tempo,
           style->remark && *style->remark && phrase ? " · " : "", most,
           style->remark ? style->remark : "");
  return drawable(words);
}

/// Whether a plan belongs to this phrase and instrument.
static bool
plan_fits(const SrPhrase* const phrase, const SrInstrument* const instrument,
          const SrPlan* const plan)
{
  const size_t buttons = sr_instrument_button_count(instrument);
  if (plan->note_count != sr_phrase_note_count(phrase)) {
    return false;
  }
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrPlannedNote* const note = &plan->notes[i];
    if (note->button >= buttons || note->cut_button >= (long)buttons ||
        (note->direction != SR_DIRECTION_PRESS && note->direction != SR_DIRECTION_DRAW)) {
      return false;
    }
  }
  return true;
}

SrStatus
sr_page_content_make(const SrPhrase* const phrase, const SrInstrument* const instrument,
                     const SrPlan* const plan, const SrPageStyle* const style,
                     SrPageContent* const content, SrError* const error)
{
  memset(content, 0, sizeof(*content));
  if (style->bars_a_line > SR_PAGE_MOST_BARS_A_LINE || !(style->bpm >= 0.0) ||
      !isfinite(style->bpm)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "A line of the page holds 1 to %u bars, and the tempo is a number.",
                        SR_PAGE_MOST_BARS_A_LINE);
  }
  if (phrase && !plan_fits(phrase, instrument, plan)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The plan is for another phrase or another instrument.");
  }
  const size_t buttons = sr_instrument_button_count(instrument);
  const size_t notes = phrase ? plan->note_count : 0;
  const size_t bars = phrase ? sr_phrase_bar_count(phrase) : 0;
  const Spelling spelling = spelling_of(phrase);
  content->text_room = 3 * buttons + 4 * notes;
  content->texts = calloc(content->text_room + 1, sizeof(char*));
  content->buttons = calloc(buttons + 1, sizeof(SrDrawnButton));
  content->strokes = calloc(notes + 1, sizeof(SrDrawnStroke));
  content->bars = calloc(bars + 1, sizeof(SrDrawnBar));
  content->title = drawable(phrase ? sr_phrase_title(phrase) : sr_instrument_title(instrument));
  content->remark = make_remark(instrument, phrase, style);
  if (!content->texts || !content->buttons || !content->strokes || !content->bars ||
      !content->title || !content->remark) {
    return no_memory(error);
  }
  content->sheet.title = content->title;
  content->sheet.remark = content->remark;
  content->sheet.bars_a_line = style->bars_a_line;
  SrStatus status = gather_buttons(instrument, plan, style, &spelling, content);
  if (status == SR_OK && phrase) {
    status = gather_phrase(phrase, instrument, plan, &spelling, content);
  }
  return status == SR_OK ? SR_OK : no_memory(error);
}

void
sr_page_content_clear(SrPageContent* const content)
{
  for (size_t i = 0; i < content->text_count; ++i) {
    free(content->texts[i]);
  }
  free(content->texts);
  free(content->buttons);
  free(content->strokes);
  free(content->bars);
  free(content->title);
  free(content->remark);
  memset(content, 0, sizeof(*content));
}
