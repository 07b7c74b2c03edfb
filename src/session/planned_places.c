// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/planned_places.h>

#include <stdio.h>
#include <stdlib.h>

SrStatus
sr_plan_places_of(const SrPlan* const plan, const SrInstrument* const instrument,
                  SrPhrase* const phrase, char*** const places, SrError* const error)
{
  *places = (char**)calloc(plan->note_count, sizeof(char*));
  if (!*places) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to plan the phrase.");
  }
  for (size_t i = 0; i < plan->note_count; ++i) {
    const SrPlannedNote* const note = &plan->notes[i];
    if (asprintf(&(*places)[i], "%s, %s", sr_instrument_button(instrument, note->button)->name,
                 note->direction == SR_DIRECTION_PRESS ? "press" : "draw") < 0) {
      (*places)[i] = NULL;
    }
    if (note->air > 0) {
      sr_phrase_ask_air(phrase, i);
    }
  }
  return SR_OK;
}

SrStatus
sr_plan_places(const SrPlanWish* const wish, const SrSetup* const setup, const double bpm,
               SrPhrase* const phrase, char*** const places, SrError* const error)
{
  *places = NULL;
  SrPlans* plans = NULL;
  SrWishedPlan wished;
  SrStatus status = sr_plan_wish_read(wish, setup, bpm, phrase, &wished, error);
  if (status == SR_OK) {
    status = sr_plan(phrase, wished.instrument, &wished.settings, &plans, error);
  }
  if (status == SR_OK) {
    status = sr_plan_places_of(sr_plans_get(plans, 0), wished.instrument, phrase, places, error);
  }
  sr_plans_del(plans);
  sr_wished_plan_clear(&wished);
  return status;
}

void
sr_plan_places_del(const SrPhrase* const phrase, char** const places)
{
  for (size_t i = 0; places && i < sr_phrase_note_count(phrase); ++i) {
    free(places[i]);
  }
  free(places);
}
