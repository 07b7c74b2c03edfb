// SPDX-License-Identifier: GPL-3.0-or-later

#include "chosen.h"

#include "../ladder_start.h"

#include <steadyreed/planned_places.h>
#include <steadyreed/setup.h>

#include <math.h>

SrChoice
sr_choice_copy(const SrChoice* const choice)
{
  SrChoice copy = *choice;
  copy.path = g_strdup(choice->path);
  copy.title = g_strdup(choice->title);
  copy.layout = g_strdup(choice->layout);
  copy.style = g_strdup(choice->style);
  return copy;
}

void
sr_choice_clear(SrChoice* const choice)
{
  g_clear_pointer(&choice->path, g_free);
  g_clear_pointer(&choice->title, g_free);
  g_clear_pointer(&choice->layout, g_free);
  g_clear_pointer(&choice->style, g_free);
}

/// Plan it as wished; without a plan, `plan_error` says why.
static void
make_plan(SrChosen* const chosen)
{
  SrPlanWish wish = sr_plan_wish_default();
  wish.layout = chosen->choice.layout;
  wish.style = chosen->choice.style;
  SrSetup setup;
  const bool measured = sr_setup_read(&setup, NULL) == SR_OK;
  const SrSetup* const known = measured ? &setup : NULL;
  SrError* const error = &chosen->plan_error;
  SrStatus status =
      sr_plan_wish_read(&wish, known, (double)NAN, chosen->phrase, &chosen->wished, error);
  if (status == SR_OK) {
    status = sr_plan(chosen->phrase, chosen->wished.instrument, &chosen->wished.settings,
                     &chosen->plans, error);
  }
  if (status == SR_OK) {
    status = sr_plan_places_of(sr_plans_get(chosen->plans, 0), chosen->wished.instrument,
                               chosen->phrase, &chosen->places, error);
  }
  if (status == SR_OK) {
    chosen->plan = sr_plans_get(chosen->plans, 0);
  }
  sr_setup_clear(&setup);
}

SrChosen*
sr_chosen_new(const SrChoice* const choice, SrError* const error)
{
  SrPhrase* phrase = NULL;
  const SrPhraseChoice wanted = {.tune = choice->tune,
                                 .title = choice->title,
                                 .first_bar = choice->first_bar,
                                 .last_bar = choice->last_bar,
                                 .part = choice->part,
                                 .transpose = choice->transpose};
  return sr_phrase_read_file(choice->path, &wanted, &phrase, error) == SR_OK
             ? sr_chosen_new_of(choice, phrase)
             : NULL;
}

SrChosen*
sr_chosen_new_of(const SrChoice* const choice, SrPhrase* const phrase)
{
  SrChosen* const chosen = g_new0(SrChosen, 1);
  g_atomic_ref_count_init(&chosen->references);
  chosen->choice = sr_choice_copy(choice);
  chosen->phrase = phrase;
  if (!choice->unplanned) {
    make_plan(chosen);
  }
  return chosen;
}

SrChosen*
sr_chosen_ref(SrChosen* const chosen)
{
  g_atomic_ref_count_inc(&chosen->references);
  return chosen;
}

void
sr_chosen_unref(SrChosen* const chosen)
{
  if (chosen && g_atomic_ref_count_dec(&chosen->references)) {
    if (chosen->phrase) {
      sr_plan_places_del(chosen->phrase, chosen->places);
    }
    sr_plans_del(chosen->plans);
    sr_wished_plan_clear(&chosen->wished);
    sr_phrase_del(chosen->phrase);
    sr_choice_clear(&chosen->choice);
    g_free(chosen);
  }
}

const SrInstrument*
sr_chosen_instrument(const SrChosen* const chosen)
{
  return chosen->plan ? chosen->wished.instrument : NULL;
}

char*
sr_chosen_bars(const SrChosen* const chosen)
{
  const SrBarSpan bars = sr_ladder_all_bars(chosen->phrase);
  // The pickup is bar 0
  if (bars.last == 0) {
    return g_strdup("pickup");
  }
  const int lowest = bars.first > 0 ? bars.first : 1;
  const char* const pickup = bars.first == 0 ? "pickup and " : "";
  return lowest == bars.last ? g_strdup_printf("%sbar %d", pickup, lowest)
                             : g_strdup_printf("%sbars %d to %d", pickup, lowest, bars.last);
}
