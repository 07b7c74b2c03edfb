// SPDX-License-Identifier: GPL-3.0-or-later

#include "reasons.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Notes after a changed one whose cost can change with it.
#define REACH 8u

/// Where one way of a note costs more than another, everything else unchanged.
typedef struct {
  int jump;
  size_t jump_at; ///< The note at which the largest extra jump ends
  int jump_most;
  int turn;
  int row;
  int apart;
  int finger;
  int home;
  int room;
  bool out;       ///< The bellows would run out
  size_t room_at; ///< The first note at which room would be short
} Extra;

/// A note and another way to play it, with the repeated notes after it.
typedef struct {
  const SrMoves* moves;
  const SrChosen* chosen;
  SrChosen* changed; ///< A copy of `chosen`, with one run of notes changed at a time
  size_t note;
  size_t count; ///< Notes of its pitch in a row, played in one way
  const SrWay* own;
  const SrWay* other;
} Choice;

static const SrWay*
way_at(const SrMoves* const moves, const SrChosen* const chosen, const size_t note)
{
  return &moves->choices[note].ways[chosen[note].way];
}

static SrStepCost
step_of(const SrMoves* const moves, const SrChosen* const chosen, const size_t note)
{
  if (note == 0) {
    return (SrStepCost){0, 0, 0, 0};
  }
  const SrWay* const to = way_at(moves, chosen, note);
  return sr_moves_step(moves, note, way_at(moves, chosen, note - 1),
                       sr_path_last(moves, chosen, note, to->hand), to);
}

/// What changes in the room of the bellows if a note goes the other way.
static void
compare_room(const Choice* const c, Extra* const extra)
{
  if (c->own->direction == c->other->direction) {
    return;
  }
  const int sign = c->own->direction == SR_DIRECTION_PRESS ? 2 : -2;
  int shift = 0;
  for (size_t i = c->note; i < c->moves->count; ++i) {
    const bool in_run = i < c->note + c->count;
    const int moved = c->moves->choices[i].use + c->chosen[i].air * SR_AIR_STEP;
    shift += in_run ? sign * moved : 0;
    const SrDirection direction =
        in_run ? c->other->direction : way_at(c->moves, c->chosen, i)->direction;
    const int after = sr_path_after(c->moves, c->chosen, i);
    const int other = after + shift;
    if (other < 0 || other > SR_BELLOWS_UNITS) {
      extra->out = true;
      extra->room_at = i;
      return;
    }
    const int more = sr_moves_room_cost(c->moves, direction, other) -
                     sr_moves_room_cost(c->moves, way_at(c->moves, c->chosen, i)->direction, after);
    if (more > 0 && extra->room <= 0) {
      extra->room_at = i;
    }
    extra->room += more;
  }
}

static Extra
compare(const Choice* const c)
{
  Extra extra = {0};
  const SrMoves* const moves = c->moves;
  const size_t other = (size_t)(c->other - moves->choices[c->note].ways);
  for (size_t i = 0; i < c->count; ++i) {
    c->changed[c->note + i].way = other;
  }
  for (size_t i = c->note; i < moves->count && i < c->note + c->count + REACH; ++i) {
    const SrStepCost own = step_of(moves, c->chosen, i);
    const SrStepCost then = step_of(moves, c->changed, i);
    if (then.jump - own.jump > extra.jump_most) {
      extra.jump_most = then.jump - own.jump;
      extra.jump_at = i;
    }
    extra.jump += then.jump - own.jump;
    extra.turn += then.turn - own.turn;
    extra.row += then.row - own.row;
    extra.apart += then.apart - own.apart;
  }
  for (size_t i = 0; i < c->count; ++i) {
    c->changed[c->note + i].way = c->chosen[c->note + i].way;
  }
  extra.finger = c->other->finger_cost - c->own->finger_cost;
  extra.home =
      (c->other->own_cost - c->other->finger_cost) - (c->own->own_cost - c->own->finger_cost);
  compare_room(c, &extra);
  return extra;
}

static int
sum_of(const Extra* const extra)
{
  return extra->jump + extra->turn + extra->row + extra->apart + extra->finger + extra->home +
         extra->room + (extra->out ? 10000 : 0);
}

static const char*
finger_word(const SrFinger finger)
{
  static const char* const words[] = {"thumb", "index", "middle finger", "ring finger",
                                      "little finger"};
  return words[finger];
}

static const char*
name_at(const Choice* const c, const size_t note)
{
  return sr_phrase_note(c->moves->phrase, note)->name;
}

/// What a jump that the other way needs is, in words.
static void
say_jump(const Choice* const c, const Extra* const extra, char* const room, const size_t size)
{
  const char* const finger = finger_word(c->other->finger);
  if (extra->jump_at > c->note) {
    snprintf(room, size, "the %s would have to jump to the %s", finger, name_at(c, extra->jump_at));
    return;
  }
  const SrLast last = sr_path_last(c->moves, c->chosen, c->note, c->other->hand);
  if (last.way && last.way->button != c->other->button) {
    snprintf(room, size, "the %s would have to jump from the %s", finger, name_at(c, last.note));
  } else {
    snprintf(room, size, "the %s would have to jump", finger);
  }
}

/// What a player would feel of another way.
typedef enum { NOTHING, RUNS_OUT, JUMP, TURN, SHORT_OF_ROOM, WEAK_FINGER, ROWS } Trouble;

/// The worst of what the other way would cost.
static Trouble
worst_of(const Extra* const extra, const bool leaves_home)
{
  const int most = extra->jump > extra->turn ? extra->jump : extra->turn;
  if (extra->out) {
    return RUNS_OUT;
  }
  if (most > 0 && most >= extra->room) {
    return extra->jump == most ? JUMP : TURN;
  }
  if (extra->room > 0) {
    return SHORT_OF_ROOM;
  }
  // Nobody asks why a note is at home if only this speaks for it
  return !leaves_home ? NOTHING : extra->finger > 0 ? WEAK_FINGER : extra->row > 0 ? ROWS : NOTHING;
}

/// Where the bellows would turn.
static const char*
turn_words(const Choice* const c)
{
  const size_t after = c->note + c->count;
  if (c->own->direction == c->other->direction) {
    return "the fingers would change just as the bellows turn";
  }
  const bool turns_before =
      c->note > 0 && way_at(c->moves, c->chosen, c->note - 1)->direction == c->own->direction;
  const bool turns_after =
      after < c->moves->count && way_at(c->moves, c->chosen, after)->direction == c->own->direction;
  return turns_before && turns_after ? "the bellows would turn before it and after it"
         : turns_before              ? "the bellows would turn before it"
                                     : "the bellows would turn after it";
}

static void
say_trouble(const Choice* const c, const Extra* const extra, const Trouble trouble,
            char* const room, const size_t size)
{
  const int bar = sr_phrase_note(c->moves->phrase, extra->room_at)->bar;
  switch (trouble) {
  case RUNS_OUT:
    snprintf(room, size, "the bellows would run out in bar %d", bar);
    break;
  case JUMP:
    say_jump(c, extra, room, size);
    break;
  case TURN:
    snprintf(room, size, "%s", turn_words(c));
    break;
  case SHORT_OF_ROOM:
    if (c->chosen[c->note].air > 0) {
      snprintf(room, size, "the air taken here would cost room instead of giving it");
    } else {
      snprintf(room, size, "the bellows would be short of room by bar %d", bar);
    }
    break;
  case WEAK_FINGER:
    snprintf(room, size, "the %s would have it", finger_word(c->other->finger));
    break;
  case ROWS:
    snprintf(room, size, "the hand would change rows");
    break;
  case NOTHING:
  default:
    room[0] = '\0';
    break;
  }
}

static int
home_cost(const SrWay* const way)
{
  return way->own_cost - way->finger_cost;
}

/// The other way to compare with: for a note away from home its home, otherwise the best other home
/// of its pitch. NULL if there is none.
static const SrWay*
other_way(Choice* const c, bool* const leaves_home)
{
  const SrChoice* const choice = &c->moves->choices[c->note];
  const SrWay* best = NULL;
  int least = 0;
  int least_home = home_cost(c->own);
  for (size_t w = 0; w < choice->way_count; ++w) {
    const int home = home_cost(&choice->ways[w]);
    least_home = home < least_home ? home : least_home;
  }
  *leaves_home = home_cost(c->own) > least_home;
  const int most_home = *leaves_home ? least_home : c->moves->settings->style.second;
  for (size_t w = 0; w < choice->way_count; ++w) {
    const SrWay* const way = &choice->ways[w];
    const bool same = way->button == c->own->button && way->direction == c->own->direction;
    const bool lent =
        way->finger != sr_instrument_button(c->moves->instrument, way->button)->finger;
    if (same || lent || home_cost(way) > most_home) {
      continue;
    }
    c->other = way;
    const Extra extra = compare(c);
    if (!best || sum_of(&extra) < least) {
      best = way;
      least = sum_of(&extra);
    }
  }
  c->other = best;
  return best;
}

/// Find the trouble with the other way of a note, and say it; NOTHING if nobody would ask.
static Trouble
explain(Choice* const c, char* const room, const size_t size)
{
  bool leaves_home;
  const SrInstrument* const instrument = c->moves->instrument;
  const SrButton* const own = sr_instrument_button(instrument, c->own->button);
  if (c->own->finger != own->finger) {
    c->other = c->own;
    snprintf(room, size, "%s on %s by the %s: the %s would have to jump", name_at(c, c->note),
             own->name, finger_word(c->own->finger), finger_word(own->finger));
    return JUMP;
  }
  if (!other_way(c, &leaves_home)) {
    return NOTHING;
  }
  const Extra extra = compare(c);
  // Below 0 the plan gains elsewhere what it loses here
  const Trouble trouble = sum_of(&extra) < 0 ? NOTHING : worst_of(&extra, leaves_home);
  char words[SR_REASON_SIZE];
  say_trouble(c, &extra, trouble, words, sizeof(words));
  const SrButton* const other = sr_instrument_button(instrument, c->other->button);
  const bool same = own == other;
  snprintf(room, size, "%s on %s%s: on %s%s %s", name_at(c, c->note), own->name,
           same ? c->own->direction == SR_DIRECTION_PRESS ? " press" : " draw" : "", other->name,
           same ? c->other->direction == SR_DIRECTION_PRESS ? " press" : " draw" : "", words);
  return trouble;
}

/// A reason that was given.
typedef struct {
  const SrButton* own;
  const SrButton* other;
  SrDirection direction;
  Trouble trouble;
} Given;

/// Whether this reason was given before; remembers it.
static bool
was_given(const Choice* const c, const Trouble trouble, Given* const given, size_t* const count)
{
  const Given now = {sr_instrument_button(c->moves->instrument, c->own->button),
                     sr_instrument_button(c->moves->instrument, c->other->button),
                     c->own->direction, trouble};
  for (size_t i = 0; i < *count; ++i) {
    if (given[i].own == now.own && given[i].other == now.other &&
        given[i].direction == now.direction && given[i].trouble == now.trouble) {
      return true;
    }
  }
  given[(*count)++] = now;
  return false;
}

/// Notes of one pitch in a row from a note on, played in one way.
static size_t
run_from(const SrMoves* const moves, const SrChosen* const chosen, const size_t note)
{
  size_t count = 1;
  while (note + count < moves->count && moves->choices[note + count].repeats &&
         chosen[note + count].way == chosen[note].way &&
         moves->choices[note + count].way_count == moves->choices[note].way_count) {
    ++count;
  }
  return count;
}

bool
sr_reasons_of_notes(const SrMoves* const moves, const SrChosen* const chosen, SrPlan* const plan)
{
  Choice c = {.moves = moves, .chosen = chosen};
  c.changed = (SrChosen*)malloc(moves->count * sizeof(SrChosen));
  Given* const given = (Given*)calloc(moves->count, sizeof(Given));
  size_t count = 0;
  bool enough = c.changed && given;
  if (enough) {
    memcpy(c.changed, chosen, moves->count * sizeof(SrChosen));
  }
  for (c.note = 0; enough && c.note < moves->count; c.note += c.count) {
    char reason[SR_REASON_SIZE];
    c.count = run_from(moves, chosen, c.note);
    c.own = way_at(moves, chosen, c.note);
    const Trouble trouble = explain(&c, reason, sizeof(reason));
    if (trouble != NOTHING && !was_given(&c, trouble, given, &count)) {
      plan->notes[c.note].reason = strdup(reason);
      enough = plan->notes[c.note].reason;
    }
  }
  free(given);
  free(c.changed);
  return enough;
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
