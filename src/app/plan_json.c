// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_json.h"

#include "plan_missing.h"

#include <jansson.h>

static const char* const hands[] = {"left", "right"};
static const char* const fingers[] = {"thumb", "index", "middle", "ring", "little"};

static json_t*
note_json(const SrPhrase* const phrase, const SrInstrument* const instrument,
          const SrPlan* const plan, const size_t index)
{
  const SrPhraseNote* const written = sr_phrase_note(phrase, index);
  const SrPlannedNote* const note = &plan->notes[index];
  const SrButton* const button = sr_instrument_button(instrument, note->button);
  json_t* const cut =
      note->cut_button < 0
          ? json_null()
          : json_pack("{s:s, s:i, s:s}", "button",
                      sr_instrument_button(instrument, (size_t)note->cut_button)->name, "midi",
                      note->cut_midi, "finger", fingers[note->cut_finger]);
  json_t* const sounds = json_array();
  int left_out = written->ornament_count;
  for (size_t s = 0; s < note->sound_count; ++s) {
    const SrPlannedSound* const sound = &note->sounds[s];
    left_out += sound->button < 0;
    json_array_append_new(
        sounds, sound->button < 0
                    ? json_pack("{s:i, s:n, s:n}", "midi", sound->midi, "button", "finger")
                    : json_pack("{s:i, s:s, s:s}", "midi", sound->midi, "button",
                                sr_instrument_button(instrument, (size_t)sound->button)->name,
                                "finger", fingers[sound->finger]));
  }
  return json_pack(
      "{s:I, s:i, s:i, s:s, s:s, s:i, s:i, s:s, s:s, s:o, s:b, s:o, s:i, s:i, s:i, s:b, s:i, s:i, "
      "s:s?, s:i}",
      "index", (json_int_t)index, "bar", written->bar, "midi", written->midi, "button",
      button->name, "hand", hands[button->hand], "row", button->row, "column", button->column,
      "finger", fingers[note->finger], "direction",
      note->direction == SR_DIRECTION_PRESS ? "press" : "draw", "cut", cut, "cut_missing",
      (int)sr_plan_is_missing(phrase, plan, index), "chord", sounds, "before", note->before,
      "after", note->after, "air", note->air, "turn", (int)note->turns, "cost", note->cost,
      "hand_cost", note->hand_cost, "reason", note->reason, "not_planned", left_out);
}

static json_t*
plan_json(const SrPhrase* const phrase, const SrInstrument* const instrument,
          const SrPlan* const plan)
{
  json_t* const notes = json_array();
  json_t* const reasons = json_array();
  for (size_t i = 0; i < plan->note_count; ++i) {
    json_array_append_new(notes, note_json(phrase, instrument, plan, i));
  }
  for (size_t i = 0; i < plan->reason_count; ++i) {
    json_array_append_new(reasons, json_string(plan->reasons[i]));
  }
  return json_pack("{s:I, s:I, s:I, s:I, s:o, s:o}", "cost", (json_int_t)plan->cost, "unlike_cost",
                   (json_int_t)plan->unlike_cost, "turns", (json_int_t)plan->turns, "airs",
                   (json_int_t)plan->airs, "reasons", reasons, "notes", notes);
}

SrStatus
sr_plan_write_json(FILE* const stream, const SrPhrase* const phrase,
                   const SrInstrument* const instrument, const SrPlanSettings* const settings,
                   const SrPlans* const plans, SrError* const error)
{
  json_t* const array = json_array();
  for (size_t p = 0; p < sr_plans_count(plans); ++p) {
    json_array_append_new(array, plan_json(phrase, instrument, sr_plans_get(plans, p)));
  }
  json_t* const json =
      json_pack("{s:s, s:i, s:s, s:s, s:s, s:f, s:i, s:o, s:s?}", "format", "steadyreed-plan",
                "version", 1, "phrase", sr_phrase_title(phrase), "instrument",
                sr_instrument_name(instrument), "style", settings->style.name, "bpm", settings->bpm,
                "bellows_units", SR_BELLOWS_UNITS, "plans", array, "fewer", sr_plans_fewer(plans));
  const bool written =
      json && json_dumpf(json, stream, JSON_INDENT(2) | JSON_REAL_PRECISION(9)) == 0;
  json_decref(json);
  fputc('\n', stream);
  return written ? SR_OK
                 : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for the JSON.");
}
