// SPDX-License-Identifier: GPL-3.0-or-later

#include "reasons.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Cost differences between two ways of one note, everything else unchanged.
typedef struct {
  int turn_before;
  int turn_after;
  int flat;
  int jump;
  int row;
  int apart;
  int own;
} Parts;

static Parts
parts_of(const SrMoves* const moves, const SrChosen* const chosen, const size_t note,
         const SrWay* const way)
{
  Parts parts = {0, 0, 0, 0, 0, 0, way->own_cost};
  if (note > 0) {
    const SrWay* const from = &moves->choices[note - 1].ways[chosen[note - 1].way];
    const SrStepCost step = sr_moves_step(moves, note, from, way);
    parts.turn_before = step.turn;
    parts.flat += step.flat;
    parts.jump += step.jump;
    parts.row += step.row;
    parts.apart += step.apart;
  }
  if (note + 1 < moves->count) {
    const SrWay* const to = &moves->choices[note + 1].ways[chosen[note + 1].way];
    const SrStepCost step = sr_moves_step(moves, note + 1, way, to);
    parts.turn_after = step.turn;
    parts.flat += step.flat;
    parts.jump += step.jump;
    parts.row += step.row;
    parts.apart += step.apart;
  }
  return parts;
}

static int
sum_of(const Parts* const parts)
{
  return parts->turn_before + parts->turn_after + parts->flat + parts->jump + parts->row +
         parts->apart + parts->own;
}

static const char*
direction_word(const SrDirection direction)
{
  return direction == SR_DIRECTION_PRESS ? "press" : "draw";
}

/// The best other way of a note, everything else unchanged; the chosen one if there is no other.
static size_t
best_other(const SrMoves* const moves, const SrChosen* const chosen, const size_t note)
{
  const SrChoice* const choice = &moves->choices[note];
  size_t best = chosen[note].way;
  int least = 0;
  for (size_t w = 0; w < choice->way_count; ++w) {
    const Parts parts = parts_of(moves, chosen, note, &choice->ways[w]);
    if (w != chosen[note].way && (best == chosen[note].way || sum_of(&parts) < least)) {
      best = w;
      least = sum_of(&parts);
    }
  }
  return best;
}

/// In what respect one way by itself is better than another.
static const char*
own_words(const SrMoves* const moves, const SrWay* const way, const SrWay* const other)
{
  const SrButton* const own = sr_instrument_button(moves->instrument, way->button);
  const SrButton* const theirs = sr_instrument_button(moves->instrument, other->button);
  if (own->finger != SR_FINGER_LITTLE && theirs->finger == SR_FINGER_LITTLE) {
    return "it spares the little finger";
  }
  if (own->row && own->row < theirs->row) {
    return "it is in a nearer row";
  }
  if (way->cut_button >= 0 && other->cut_button < 0) {
    return "there is a button for its cut";
  }
  if (own->hand != theirs->hand) {
    return own->hand == SR_HAND_LEFT ? "the left hand has the low notes"
                                     : "the right hand has the high notes";
  }
  return "its cut is the written note";
}

void
sr_reason_of(const SrMoves* const moves, const SrChosen* const chosen, const size_t note,
             char* const room, const size_t size)
{
  const SrChoice* const choice = &moves->choices[note];
  const SrWay* const way = &choice->ways[chosen[note].way];
  const size_t other = best_other(moves, chosen, note);
  room[0] = '\0';
  if (other == chosen[note].way) {
    return;
  }
  const char* const name = sr_phrase_note(moves->phrase, note)->name;
  const char* const where = direction_word(way->direction);
  if (chosen[note].alike) {
    snprintf(room, size, "the %s on the %s: as in the other bars like this one", name, where);
    return;
  }
  const Parts own = parts_of(moves, chosen, note, way);
  const Parts theirs = parts_of(moves, chosen, note, &choice->ways[other]);
  const char* const next =
      note + 1 < moves->count ? sr_phrase_note(moves->phrase, note + 1)->name : "";
  const char* const before = note > 0 ? sr_phrase_note(moves->phrase, note - 1)->name : "";
  const struct {
    int gain;
    const char* words;
    const char* about;
  } gains[] = {
      {theirs.jump - own.jump, "no finger has to jump", ""},
      {theirs.turn_after - own.turn_after, "saves a turn of the bellows before the", next},
      {theirs.turn_before - own.turn_before, "saves a turn of the bellows after the", before},
      {theirs.apart - own.apart, "the repeated note stays on its button", ""},
      {theirs.row - own.row, own.row ? "the hand changes rows less" : "the hand stays in its row",
       ""},
      {theirs.flat - own.flat, "the bellows turn with the pulse", ""},
      {theirs.own - own.own, own_words(moves, way, &choice->ways[other]), ""},
  };
  size_t best = 0;
  for (size_t i = 1; i < sizeof(gains) / sizeof(gains[0]); ++i) {
    best = gains[i].gain > gains[best].gain ? i : best;
  }
  if (gains[best].gain > 0) {
    snprintf(room, size, "the %s on the %s: %s%s%s", name, where, gains[best].words,
             gains[best].about[0] ? " " : "", gains[best].about);
  } else if (way->direction != choice->ways[other].direction) {
    snprintf(room, size, "the %s on the %s: it keeps room in the bellows for what follows", name,
             where);
  } else {
    snprintf(room, size, "the %s on the %s: the same either way", name, where);
  }
}

/// Facts reported about a plan.
typedef struct {
  size_t turns;
  size_t airs;
  size_t airs_unasked;
  int lowest;
  int highest;
} Facts;

static Facts
facts_of(const SrPhrase* const phrase, const SrPlan* const plan)
{
  Facts facts = {plan->turns, plan->airs, 0, SR_BELLOWS_UNITS, 0};
  for (size_t i = 0; i < plan->note_count; ++i) {
    const int after = plan->notes[i].after;
    facts.lowest = after < facts.lowest ? after : facts.lowest;
    facts.highest = after > facts.highest ? after : facts.highest;
    facts.airs_unasked += plan->notes[i].air > 0 && !sr_phrase_note(phrase, i)->air;
  }
  return facts;
}

static int
percent(const int units)
{
  return (100 * units + SR_BELLOWS_UNITS / 2) / SR_BELLOWS_UNITS;
}

bool
sr_reason_of_plan(const SrPhrase* const phrase, const SrPlan* const plan, const SrPlan* const first,
                  const size_t line, char* const room, const size_t size)
{
  const Facts own = facts_of(phrase, plan);
  if (line == 0) {
    snprintf(room, size, "%zu turn%s of the bellows, which stay %d to %d percent open", own.turns,
             own.turns == 1 ? "" : "s", percent(own.lowest), percent(own.highest));
    return true;
  }
  if (line == 1) {
    if (own.airs) {
      snprintf(room, size, "air %zu time%s%s", own.airs, own.airs == 1 ? "" : "s",
               own.airs_unasked == own.airs ? ", where the phrase does not mark it"
               : own.airs_unasked           ? ", not only where the phrase marks it"
                                            : "");
    } else {
      snprintf(room, size, "no air needed");
    }
    return true;
  }
  if (line == 2 && first) {
    size_t others = 0;
    for (size_t i = 0; i < plan->note_count; ++i) {
      others += plan->notes[i].button != first->notes[i].button;
    }
    const Facts theirs = facts_of(phrase, first);
    const long turns = (long)own.turns - (long)theirs.turns;
    if (turns) {
      snprintf(room, size, "%zu notes on other buttons than in plan 1, and %ld turn%s %s", others,
               labs(turns), labs(turns) == 1 ? "" : "s", turns < 0 ? "fewer" : "more");
    } else {
      snprintf(room, size, "%zu notes on other buttons than in plan 1, with just as many turns",
               others);
    }
    return true;
  }
  return false;
}
