// SPDX-License-Identifier: GPL-3.0-or-later

#include "page_content.h"

#include <steadyreed/planned_note.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
}

static SrStatus
gather_buttons(const SrInstrument* const instrument, const SrPageStyle* const style,
               const SrSpelling* const spelling, SrPageContent* const content)
{
  const size_t count = sr_instrument_button_count(instrument);
  for (size_t i = 0; i < count; ++i) {
    const SrButton* const button = sr_instrument_button(instrument, i);
    const SrDrawnButton drawn = {
        .hand = button->hand,
        .row = button->row,
        .column = button->column,
        .finger = button->finger,
        .name = sr_page_words_keep(&content->words, button->name),
        .press = sr_page_words_note(&content->words, button->press_midi, spelling, true),
        .draw = sr_page_words_note(&content->words, button->draw_midi, spelling, true),
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
  return SR_OK;
}

/// Mark what a plan plays with a button in its direction.
static void
mark_button(SrDrawnButton* const button, const bool draw, const bool cut)
{
  if (cut) {
    button->cuts_draw = button->cuts_draw || draw;
    button->cuts_press = button->cuts_press || !draw;
  } else {
    button->uses_draw = button->uses_draw || draw;
    button->uses_press = button->uses_press || !draw;
  }
}

static void
mark_buttons(const SrPlan* const plan, SrPageContent* const content)
{
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrPlannedNote* const note = &plan->notes[i];
    const bool draw = note->direction == SR_DIRECTION_DRAW;
    mark_button(&content->buttons[note->button], draw, false);
    for (size_t k = 0; k < note->sound_count; ++k) {
      if (note->sounds[k].button >= 0) {
        mark_button(&content->buttons[note->sounds[k].button], draw, false);
      }
    }
    if (note->cut_button >= 0) {
      mark_button(&content->buttons[note->cut_button], draw, true);
    }
    content->sheet.layout.uses_air = content->sheet.layout.uses_air || note->air > 0;
  }
}

/// Add something to the line under the title.
static void add_remark(char words[SR_PAGE_LONGEST], const char* const format, ...) SR_PRINTF(2, 3);

static void
add_remark(char words[SR_PAGE_LONGEST], const char* const format, ...)
{
  size_t used = strlen(words);
  if (used > 0 && used + 8 < SR_PAGE_LONGEST) {
    used += (size_t)snprintf(words + used, SR_PAGE_LONGEST - used, " · ");
  }
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(words + used, SR_PAGE_LONGEST - used, format, arguments);
  va_end(arguments);
}

/// The line under the title: key, tempo, and what the caller knows about style and part.
static const char*
keep_remark(const SrPhrase* const phrase, const SrPageStyle* const style, SrPageWords* const kept)
{
  char words[SR_PAGE_LONGEST] = "";
  const int most = 160;
  if (phrase && *sr_phrase_key(phrase)) {
    add_remark(words, "key %.*s", most / 4, sr_phrase_key(phrase));
  }
  const int moved = phrase ? sr_phrase_transposed(phrase) : 0;
  if (moved) {
    add_remark(words, "%d semitone%s %s", abs(moved), abs(moved) == 1 ? "" : "s",
               moved > 0 ? "up" : "down");
  }
  if (phrase && style->bpm > 0.0) {
    add_remark(words, "%.4g pulses a minute", style->bpm);
  }
  if (style->remark && *style->remark) {
    add_remark(words, "%.*s", most, style->remark);
  }
  return sr_page_words_keep(kept, words);
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
  const SrSpelling spelling = sr_spelling_of(phrase);
  SrSheetContent* const sheet = &content->sheet;
  content->buttons = calloc(sr_instrument_button_count(instrument) + 1, sizeof(SrDrawnButton));
  sheet->title = sr_page_words_keep(&content->words, phrase ? sr_phrase_title(phrase)
                                                            : sr_instrument_title(instrument));
  sheet->caption =
      sr_page_words_keep(&content->words, phrase ? sr_instrument_title(instrument) : "");
  sheet->remark = keep_remark(phrase, style, &content->words);
  sheet->bars_a_line = style->bars_a_line;
  if (!content->buttons || !sheet->title || !sheet->caption || !sheet->remark ||
      gather_buttons(instrument, style, &spelling, content) != SR_OK) {
    return no_memory(error);
  }
  if (phrase) {
    mark_buttons(plan, content);
    if (sr_page_phrase_make(phrase, instrument, plan, &spelling, &content->words,
                            &content->phrase) != SR_OK) {
      return no_memory(error);
    }
    sheet->phrase = content->phrase.drawn;
  }
  return SR_OK;
}

void
sr_page_content_clear(SrPageContent* const content)
{
  sr_page_words_clear(&content->words);
  sr_page_phrase_clear(&content->phrase);
  free(content->buttons);
  memset(content, 0, sizeof(*content));
}
