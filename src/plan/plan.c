// SPDX-License-Identifier: GPL-3.0-or-later

#include "other_plans.h"
#include "other_sounds.h"
#include "reasons.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Nodes looked at for the first plan: of 160 tunes of 32 random bars nearly all are proven within
/// it.
#define FIRST_NODES 4000000u

struct SrPlansImpl {
  SrPlan plans[SR_MOST_PLANS];
  size_t count;
  char* fewer; ///< Why there are fewer than wanted; NULL if there are not
  bool proven; ///< No plan is cheaper than the first
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
    free(plans->fewer);
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

const char*
sr_plans_fewer(const SrPlans* const plans)
{
  return plans->fewer;
}

bool
sr_plans_proven(const SrPlans* const plans)
{
  return plans->proven;
}

/// Two pins that contradict each other; false if there are none.
static bool
find_contradiction(const SrPlanSettings* const settings, size_t* const one, size_t* const other)
{
  for (*one = 0; *one < settings->pin_count; ++*one) {
    for (*other = *one + 1; *other < settings->pin_count; ++*other) {
      const SrPin* const a = &settings->pins[*one];
      const SrPin* const b = &settings->pins[*other];
      if (a->note == b->note && a->kind == b->kind && a->button != b->button) {
        return true;
      }
    }
  }
  return false;
}

static const char*
pinned_name(const SrInstrument* const instrument, const SrPin* const pin)
{
  return pin->button == SR_PIN_AS_WRITTEN ? "as written"
                                          : sr_instrument_button(instrument, pin->button)->name;
}

static SrStatus
check_pins(const SrPhrase* const phrase, const SrInstrument* const instrument,
           const SrPlanSettings* const settings, SrError* const error)
{
  for (size_t i = 0; i < settings->pin_count; ++i) {
    const SrPin* const pin = &settings->pins[i];
    const bool written = pin->kind == SR_PIN_CUT && pin->button == SR_PIN_AS_WRITTEN;
    if (pin->note >= sr_phrase_note_count(phrase) ||
        (!written && pin->button >= sr_instrument_button_count(instrument))) {
      return sr_error_set(error, SR_BAD_ARGUMENT,
                          "A pin names a note or a button that does not exist.");
    }
  }
  size_t one;
  size_t other;
  if (find_contradiction(settings, &one, &other)) {
    const SrPin* const a = &settings->pins[one];
    const SrPin* const b = &settings->pins[other];
    const SrPhraseNote* const note = sr_phrase_note(phrase, a->note);
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "Bar %d: the %s%s is pinned twice, to %s and to %s; choose one.", note->bar,
                        a->kind == SR_PIN_CUT ? "cut before the " : "", note->name,
                        pinned_name(instrument, a), pinned_name(instrument, b));
  }
  return SR_OK;
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
  return check_pins(phrase, instrument, settings, error);
}

/// Convert a path to a plan. False without memory.
static bool
write_notes(const SrMoves* const moves, const SrBarKinds* const kinds, const SrChosen* const chosen,
            SrPlan* const plan)
{
  SrNoteCost* const costs = (SrNoteCost*)calloc(moves->count, sizeof(SrNoteCost));
  plan->note_count = moves->count;
  plan->notes = (SrPlannedNote*)calloc(moves->count, sizeof(SrPlannedNote));
  if (!plan->notes || !costs) {
    free(costs);
    return false;
  }
  sr_path_costs(moves, chosen, costs);
  plan->unlike_cost = sr_bar_kinds_cost(kinds, chosen);
  plan->cost = plan->unlike_cost;
  for (size_t i = 0; i < moves->count; ++i) {
    const SrWay* const way = &moves->choices[i].ways[chosen[i].way];
    SrPlannedNote* const note = &plan->notes[i];
    *note = (SrPlannedNote){.button = way->button,
                            .direction = way->direction,
                            .finger = way->finger,
                            .cut_button = -1,
                            .cut_midi = -1,
                            .before = chosen[i].before,
                            .after = sr_path_after(moves, chosen, i),
                            .air = chosen[i].air * SR_AIR_STEP,
                            .turns = i > 0 && plan->notes[i - 1].direction != way->direction,
                            .cost = sr_path_sum(&costs[i]),
                            .hand_cost = sr_path_hand(&costs[i])};
    plan->cost += note->cost;
    plan->turns += note->turns;
    plan->airs += note->air > 0;
  }
  free(costs);
  return true;
}

/// Add what distinguishes a plan. False without memory.
static bool
write_reasons(const SrPhrase* const phrase, SrPlan* const plan, const SrPlan* const first)
{
  char text[SR_REASON_SIZE];
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

/// Everything that is said of a path.
static SrStatus
write_plan(const SrMoves* const moves, const SrBarKinds* const kinds, const SrChosen* const chosen,
           const SrPlan* const first, SrPlan* const plan, SrError* const error)
{
  if (!write_notes(moves, kinds, chosen, plan) || !sr_reasons_of_notes(moves, chosen, plan) ||
      !write_reasons(moves->phrase, plan, first)) {
    return SR_NO_MEMORY;
  }
  sr_other_sounds_chords(moves->phrase, moves->instrument, moves->settings, plan->notes);
  return sr_other_sounds_cuts(moves->phrase, moves->instrument, moves->settings, plan->notes,
                              error);
}

static SrStatus
refuse_bellows(const SrMoves* const moves, const size_t stuck, SrError* const error)
{
  const SrPhraseNote* const note = sr_phrase_note(moves->phrase, stuck);
  return sr_error_set(error, SR_UNSUPPORTED,
                      "The bellows run out at the %s in bar %d, however you play it at %.0f pulses "
                      "a minute from %d percent open. Try %s.",
                      note->name, note->bar, moves->settings->bpm,
                      (100 * moves->start + SR_BELLOWS_UNITS / 2) / SR_BELLOWS_UNITS,
                      stuck < 4 ? "to begin with the bellows less far to one end, or a faster tempo"
                                : "a faster tempo, a longer note before it to take air under, or "
                                  "fewer notes fixed to one direction");
}

/// Say why there are fewer plans than wanted. False without memory.
static bool
write_fewer(const SrMoves* const moves, const SrChosen* const first, SrPlans* const plans)
{
  const size_t most = sr_other_plans_most(moves, first);
  char text[256];
  if (most == 0) {
    snprintf(text, sizeof(text),
             "There is no other plan: no note has another button in a direction that is allowed.");
  } else if (most < sr_other_plans_needed(moves)) {
    snprintf(text, sizeof(text),
             "There is no really different plan: only %zu of the %zu notes have another button.",
             most, moves->count);
  } else {
    snprintf(text, sizeof(text),
             "No further plan was found that has other buttons for %zu of the %zu notes.",
             sr_other_plans_needed(moves), moves->count);
  }
  plans->fewer = strdup(text);
  return plans->fewer;
}

/// The paths of all plans.
typedef struct {
  SrGraph graph;
  SrSearch* search;
  SrBarKinds* kinds;
  SrChosen* paths[SR_MOST_PLANS];
  size_t count;
} Work;

static SrStatus
find_path(const SrMoves* const moves, Work* const work, SrPlans* const plans, SrError* const error)
{
  SrChosen* const path = (SrChosen*)calloc(moves->count, sizeof(SrChosen));
  if (!path) {
    return SR_NO_MEMORY;
  }
  SrStatus status;
  if (work->count > 0) {
    status = sr_other_plans_find(work->search, moves, work->kinds, work->paths, work->count, path);
  } else {
    size_t stuck = 0;
    status = sr_consistent_path(work->search, work->kinds, NULL, FIRST_NODES, path, &stuck,
                                &plans->proven);
    status = status == SR_UNSUPPORTED ? refuse_bellows(moves, stuck, error) : status;
  }
  if (status == SR_OK) {
    work->paths[work->count++] = path;
  } else {
    free(path);
  }
  return status;
}

/// Cost of a path, bars not played alike included; -1 without memory.
static long
cost_of(const SrMoves* const moves, const SrBarKinds* const kinds, const SrChosen* const path)
{
  SrNoteCost* const costs = (SrNoteCost*)calloc(moves->count, sizeof(SrNoteCost));
  long cost = costs ? sr_bar_kinds_cost(kinds, path) : -1;
  if (costs) {
    sr_path_costs(moves, path, costs);
  }
  for (size_t i = 0; costs && i < moves->count; ++i) {
    cost += sr_path_sum(&costs[i]);
  }
  free(costs);
  return cost;
}

/// Sort the paths by cost. False without memory.
static bool
sort_paths(const SrMoves* const moves, Work* const work)
{
  long costs[SR_MOST_PLANS] = {0};
  bool enough = true;
  for (size_t p = 0; p < work->count; ++p) {
    SrChosen* const path = work->paths[p];
    const long cost = cost_of(moves, work->kinds, path);
    size_t at = p;
    enough = enough && cost >= 0;
    for (; at > 0 && costs[at - 1] > cost; --at) {
      costs[at] = costs[at - 1];
      work->paths[at] = work->paths[at - 1];
    }
    costs[at] = cost;
    work->paths[at] = path;
  }
  return enough;
}

/// Search for all plans wanted.
static SrStatus
find_plans(const SrMoves* const moves, Work* const work, SrPlans* const plans, SrError* const error)
{
  SrStatus status = sr_graph_new(moves, &work->graph);
  work->kinds = sr_bar_kinds_new(moves);
  work->search = status == SR_OK ? sr_search_new(moves, &work->graph) : NULL;
  if (!work->search || !work->kinds) {
    return SR_NO_MEMORY;
  }
  while (status == SR_OK && work->count < moves->settings->plans) {
    status = find_path(moves, work, plans, error);
  }
  if (status == SR_NOT_FOUND && work->count > 0) {
    status = write_fewer(moves, work->paths[0], plans) ? SR_OK : SR_NO_MEMORY;
  }
  if (status == SR_OK && !sort_paths(moves, work)) {
    status = SR_NO_MEMORY;
  }
  for (size_t p = 0; status == SR_OK && p < work->count; ++p) {
    SrPlan* const plan = &plans->plans[plans->count];
    status =
        write_plan(moves, work->kinds, work->paths[p], p ? &plans->plans[0] : NULL, plan, error);
    if (status == SR_NOT_FOUND && p > 0) {
      clear_plan(plan); // a pinned cut cannot be played after its button
      status = SR_OK;
    } else {
      ++plans->count;
    }
  }
  if (status == SR_OK && plans->count < moves->settings->plans && !plans->fewer) {
    plans->fewer = strdup("No further plan was found with which the pinned cuts can be played.");
    status = plans->fewer ? SR_OK : SR_NO_MEMORY;
  }
  return status;
}

static void
work_clear(Work* const work)
{
  sr_search_del(work->search);
  sr_bar_kinds_del(work->kinds);
  sr_graph_clear(&work->graph);
  for (size_t p = 0; p < SR_MOST_PLANS; ++p) {
    free(work->paths[p]);
  }
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
  Work work = {0};
  SrPlans* const found = (SrPlans*)calloc(1, sizeof(SrPlans));
  status = sr_moves_new(phrase, instrument, settings, &moves, error);
  if (status == SR_OK && found) {
    status = find_plans(&moves, &work, found, error);
  }
  work_clear(&work);
  sr_moves_clear(&moves);
  if (!found || status == SR_NO_MEMORY) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to plan this phrase.");
  }
  if (status != SR_OK) {
    sr_plans_del(found);
    return status;
  }
  *plans = found;
  return SR_OK;
}

/// The way in a choice with a button, a direction and a finger; its way count if there is none.
static size_t
way_with(const SrChoice* const choice, const size_t button, const SrDirection direction,
         const SrFinger finger)
{
  size_t w = 0;
  while (w < choice->way_count &&
         (choice->ways[w].button != button || choice->ways[w].direction != direction ||
          choice->ways[w].finger != finger)) {
    ++w;
  }
  return w;
}

/// Convert a given way of playing to a path. False if it breaks a limit or a pin.
static bool
path_of(const SrMoves* const moves, const size_t* const buttons,
        const SrDirection* const directions, const SrFinger* const fingers, const int* const airs,
        SrChosen* const chosen)
{
  int opening = moves->start;
  for (size_t i = 0; i < moves->count; ++i) {
    const SrChoice* const choice = &moves->choices[i];
    const size_t way = way_with(choice, buttons[i], directions[i], fingers[i]);
    const int steps = airs[i] / SR_AIR_STEP;
    if (way == choice->way_count || airs[i] < 0 || airs[i] % SR_AIR_STEP ||
        steps > choice->air_steps) {
      return false;
    }
    chosen[i] = (SrChosen){way, steps, opening};
    opening = sr_path_after(moves, chosen, i);
    if (opening < 0 || opening > SR_BELLOWS_UNITS) {
      return false;
    }
  }
  return true;
}

long
sr_plan_cost(const SrPhrase* const phrase, const SrInstrument* const instrument,
             const SrPlanSettings* const settings, const size_t* const buttons,
             const SrDirection* const directions, const SrFinger* const fingers,
             const int* const airs)
{
  if (check_settings(phrase, instrument, settings, NULL) != SR_OK) {
    return -1;
  }
  const size_t count = sr_phrase_note_count(phrase);
  SrMoves moves;
  SrChosen* const chosen = (SrChosen*)calloc(count, sizeof(SrChosen));
  long cost = -1;
  if (sr_moves_new(phrase, instrument, settings, &moves, NULL) == SR_OK && chosen &&
      path_of(&moves, buttons, directions, fingers, airs, chosen)) {
    SrBarKinds* const kinds = sr_bar_kinds_new(&moves);
    cost = kinds ? cost_of(&moves, kinds, chosen) : -1;
    sr_bar_kinds_del(kinds);
  }
  free(chosen);
  sr_moves_clear(&moves);
  return cost;
}
