// SPDX-License-Identifier: GPL-3.0-or-later

#include "alike.h"
#include "moves.h"
#include "reasons.h"
#include "search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Share and number of notes that must have another button in an alternative plan.
#define OTHER_SHARE (1.0 / 6.0)
#define LEAST_OTHER 2u
/// Price of an earlier plan's button, raised in these steps until the plan differs enough.
static const int prices[] = {1, 2, 4, 8, 16, 32, 64, 128};
#define PRICES (sizeof(prices) / sizeof(prices[0]))
#define REASON_SIZE 160

struct SrPlansImpl {
  SrPlan plans[SR_MOST_PLANS];
  size_t count;
};

static void
clear_plan(SrPlan* const plan)
{
  for (size_t i = 0; plan->notes && i < plan->note_count; ++i) {
    free(plan->notes[i].reason);
  }
  for (size_t i = 0; i < plan->reason_count; ++i) {
    free(plan->reasons[i]);
  }
  free(plan->notes);
  free(plan->reasons);
  memset(plan, 0, sizeof(*plan));
}

void
sr_plans_del(SrPlans* const plans)
{
  if (plans) {
    for (size_t i = 0; i < plans->count; ++i) {
      clear_plan(&plans->plans[i]);
    }
    free(plans);
  }
}

size_t
sr_plans_count(const SrPlans* const plans)
{
  return plans->count;
}

const SrPlan*
sr_plans_get(const SrPlans* const plans, const size_t index)
{
  return &plans->plans[index];
}

static SrStatus
check_settings(const SrPhrase* const phrase, const SrInstrument* const instrument,
               const SrPlanSettings* const settings, SrError* const error)
{
  const SrBellows* const bellows = &settings->bellows;
  const bool good = settings->bpm >= SR_SLOWEST_PLAN_BPM && settings->bpm <= 400.0 &&
                    bellows->at_a4 > 0.0 && bellows->at_a4 <= SR_BELLOWS_UNITS &&
                    fabs(bellows->octave_power) <= 2.0 && bellows->air_most >= 0.0 &&
                    bellows->air_most <= 1e4 && bellows->start >= 0.0 && bellows->start <= 1.0 &&
                    settings->plans >= 1 && settings->plans <= SR_MOST_PLANS;
  if (!good) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The tempo, the bellows or the number of plans is out of range.");
  }
  for (size_t i = 0; i < settings->pin_count; ++i) {
    if (settings->pins[i].note >= sr_phrase_note_count(phrase) ||
        settings->pins[i].button >= sr_instrument_button_count(instrument)) {
      return sr_error_set(error, SR_BAD_ARGUMENT,
                          "A pin names a note or a button that does not exist.");
    }
  }
  return SR_OK;
}

/// Convert the chosen ways to a plan. False without memory.
static bool
write_plan(const SrMoves* const moves, const SrChosen* const chosen, SrPlan* const plan)
{
  plan->note_count = moves->count;
  plan->notes = (SrPlannedNote*)calloc(moves->count, sizeof(SrPlannedNote));
  if (!plan->notes) {
    return false;
  }
  bool enough = true;
  for (size_t i = 0; i < moves->count; ++i) {
    const SrChoice* const choice = &moves->choices[i];
    const SrWay* const way = &choice->ways[chosen[i].way];
    const int moved = choice->use + chosen[i].air * SR_AIR_STEP;
    SrPlannedNote* const note = &plan->notes[i];
    char reason[REASON_SIZE];
    sr_reason_of(moves, chosen, i, reason, sizeof(reason));
    *note = (SrPlannedNote){.button = way->button,
                            .direction = way->direction,
                            .cut_button = way->cut_button,
                            .cut_midi = way->cut_midi,
                            .before = chosen[i].before,
                            .after = chosen[i].before +
                                     (way->direction == SR_DIRECTION_PRESS ? -moved : moved),
                            .air = chosen[i].air * SR_AIR_STEP,
                            .turns = i > 0 && plan->notes[i - 1].direction != way->direction,
                            .cost = sr_search_note_cost(moves, chosen, i),
                            .reason = reason[0] ? strdup(reason) : NULL};
    enough = enough && (!reason[0] || note->reason);
    plan->cost += note->cost;
    plan->turns += note->turns;
    plan->airs += note->air > 0;
  }
  return enough;
}

/// Add what distinguishes a plan. False without memory.
static bool
write_reasons(const SrPhrase* const phrase, SrPlan* const plan, const SrPlan* const first)
{
  char text[REASON_SIZE];
  for (size_t line = 0; sr_reason_of_plan(phrase, plan, first, line, text, sizeof(text)); ++line) {
    char** const more = (char**)realloc(plan->reasons, (line + 1) * sizeof(char*));
    char* const copy = strdup(text);
    if (more) {
      plan->reasons = more;
    }
    if (!more || !copy) {
      free(copy);
      return false;
    }
    plan->reasons[plan->reason_count++] = copy;
  }
  return true;
}

static bool
is_other(const SrMoves* const moves, const SrChosen* const a, const SrChosen* const b)
{
  size_t others = 0;
  for (size_t i = 0; i < moves->count; ++i) {
    const SrChoice* const choice = &moves->choices[i];
    others += choice->ways[a[i].way].button != choice->ways[b[i].way].button;
  }
  const double least = fmax(LEAST_OTHER, ceil(OTHER_SHARE * (double)moves->count));
  return (double)others >= least;
}

static bool
is_other_than_all(const SrMoves* const moves, const SrChosen* const* const before,
                  const size_t count, const SrChosen* const chosen)
{
  bool other = true;
  for (size_t i = 0; other && i < count; ++i) {
    other = is_other(moves, before[i], chosen);
  }
  return other;
}

/// Play equal bars alike, if the plan then still differs from all before.
static SrStatus
make_alike(const SrMoves* const moves, const SrAvoid* const avoid, SrChosen* const chosen)
{
  SrChosen* const alike = (SrChosen*)malloc(moves->count * sizeof(SrChosen));
  if (!alike) {
    return SR_NO_MEMORY;
  }
  memcpy(alike, chosen, moves->count * sizeof(SrChosen));
  const SrStatus status = sr_alike(moves, avoid, alike);
  if (status == SR_OK && is_other_than_all(moves, avoid->plans, avoid->plan_count, alike)) {
    memcpy(chosen, alike, moves->count * sizeof(SrChosen));
  }
  free(alike);
  return status;
}

/// Find the cheapest plan that differs from all before; SR_NOT_FOUND if there is none.
static SrStatus
find_plan(const SrMoves* const moves, const SrChosen* const* const before, const size_t count,
          SrChosen* const chosen, size_t* const stuck)
{
  for (size_t p = 0; p < PRICES; ++p) {
    const SrAvoid avoid = {before, count, prices[p]};
    const SrStatus status = sr_search(moves, &avoid, NULL, chosen, stuck);
    if (status != SR_OK) {
      return status;
    }
    if (is_other_than_all(moves, before, count, chosen)) {
      return make_alike(moves, &avoid, chosen);
    }
  }
  return SR_NOT_FOUND;
}

static SrStatus
refuse_bellows(const SrMoves* const moves, const size_t stuck, SrError* const error)
{
  const SrPhraseNote* const note = sr_phrase_note(moves->phrase, stuck);
  return sr_error_set(error, SR_UNSUPPORTED,
                      "The bellows run out at the %s in bar %d, however you play it at %.0f pulses "
                      "a minute. Try a faster tempo, a longer note before it to take air under, or "
                      "fewer notes fixed to one direction.",
                      note->name, note->bar, moves->settings->bpm);
}

/// Search for all plans wanted.
static SrStatus
find_plans(const SrMoves* const moves, SrPlans* const plans, SrError* const error)
{
  SrChosen* chosen[SR_MOST_PLANS] = {NULL};
  SrStatus status = SR_OK;
  for (size_t p = 0; status == SR_OK && p < moves->settings->plans; ++p) {
    size_t stuck = 0;
    chosen[p] = (SrChosen*)calloc(moves->count, sizeof(SrChosen));
    status = chosen[p] ? find_plan(moves, (const SrChosen* const*)chosen, p, chosen[p], &stuck)
                       : SR_NO_MEMORY;
    if (status == SR_UNSUPPORTED && p == 0) {
      refuse_bellows(moves, stuck, error);
    } else if (status == SR_OK) {
      SrPlan* const plan = &plans->plans[plans->count++];
      const bool enough = write_plan(moves, chosen[p], plan) &&
                          write_reasons(moves->phrase, plan, p ? &plans->plans[0] : NULL);
      status = enough ? SR_OK : SR_NO_MEMORY;
    }
  }
  for (size_t p = 0; p < SR_MOST_PLANS; ++p) {
    free(chosen[p]);
  }
  return status == SR_NOT_FOUND || (status == SR_UNSUPPORTED && plans->count) ? SR_OK : status;
}

static int
by_cost(const void* const a, const void* const b)
{
  const long x = ((const SrPlan*)a)->cost;
  const long y = ((const SrPlan*)b)->cost;
  return (x > y) - (x < y);
}

SrStatus
sr_plan(const SrPhrase* const phrase, const SrInstrument* const instrument,
        const SrPlanSettings* const settings, SrPlans** const plans, SrError* const error)
{
  *plans = NULL;
  SrStatus status = check_settings(phrase, instrument, settings, error);
  if (status != SR_OK) {
    return status;
  }
  SrMoves moves;
  SrPlans* const found = (SrPlans*)calloc(1, sizeof(SrPlans));
  status = sr_moves_new(phrase, instrument, settings, &moves, error);
  if (status == SR_OK && found) {
    status = find_plans(&moves, found, error);
  }
  sr_moves_clear(&moves);
  if (!found || status == SR_NO_MEMORY) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to plan this phrase.");
  }
  if (status != SR_OK) {
    sr_plans_del(found);
    return status;
  }
  if (found && found->count > 2) {
    qsort(found->plans + 1, found->count - 1, sizeof(SrPlan), by_cost);
  }
  *plans = found;
  return SR_OK;
}

/// The way in a choice with a button and a direction; its way count if there is none.
static size_t
way_with(const SrChoice* const choice, const size_t button, const SrDirection direction)
{
  size_t w = 0;
  while (w < choice->way_count &&
         (choice->ways[w].button != button || choice->ways[w].direction != direction)) {
    ++w;
  }
  return w;
}

long
sr_plan_cost(const SrPhrase* const phrase, const SrInstrument* const instrument,
             const SrPlanSettings* const settings, const size_t* const buttons,
             const SrDirection* const directions, const int* const airs)
{
  SrMoves moves;
  long cost = check_settings(phrase, instrument, settings, NULL) == SR_OK ? 0 : -1;
  if (cost < 0) {
    return cost;
  }
  SrChosen* const chosen = (SrChosen*)calloc(sr_phrase_note_count(phrase), sizeof(SrChosen));
  cost = chosen && sr_moves_new(phrase, instrument, settings, &moves, NULL) == SR_OK ? 0 : -1;
  if (cost < 0) {
    free(chosen);
    return cost;
  }
  int opening = moves.start;
  for (size_t i = 0; cost >= 0 && i < moves.count; ++i) {
    const SrChoice* const choice = &moves.choices[i];
    const size_t way = way_with(choice, buttons[i], directions[i]);
    const int steps = airs[i] / SR_AIR_STEP;
    const int moved = choice->use + airs[i];
    const int after = opening + (directions[i] == SR_DIRECTION_PRESS ? -moved : moved);
    if (way == choice->way_count || airs[i] < 0 || airs[i] % SR_AIR_STEP ||
        steps > choice->air_steps || after < 0 || after > SR_BELLOWS_UNITS) {
      cost = -1;
      break;
    }
    chosen[i] = (SrChosen){way, steps, opening, false};
    cost += sr_search_note_cost(&moves, chosen, i);
    opening = after;
  }
  free(chosen);
  sr_moves_clear(&moves);
  return cost;
}
