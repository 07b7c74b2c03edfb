// SPDX-License-Identifier: GPL-3.0-or-later

#include "moves.h"

#include "homes.h"
#include "other_sounds.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Factor of the weight if requested air is not taken.
#define NOT_TAKEN 12
/// Rows beyond this are far.
#define NEAR_ROWS 2
/// From this length on, s, taking air has no extra cost for hurry.
#define AIR_EASY_S 0.6
/// Time for a move, s, at which a weight counts once, and the most that it counts.
#define USUAL_S 0.2
#define MOST_FACTOR 1.5
/// A cut between repeated notes is useless if the button changes anyway: factor of that cost.
#define CUT_APART 3

static bool
same_finger(const SrWay* const a, const SrWay* const b)
{
  return a->hand == b->hand && a->finger == b->finger;
}

SrFinger
sr_moves_other_finger(const SrFinger finger)
{
  switch (finger) {
  case SR_FINGER_INDEX:
  case SR_FINGER_RING:
    return SR_FINGER_MIDDLE;
  case SR_FINGER_MIDDLE:
    return SR_FINGER_INDEX;
  case SR_FINGER_LITTLE:
    return SR_FINGER_RING;
  case SR_FINGER_THUMB:
  default:
    return finger;
  }
}

const SrPin*
sr_moves_pin(const SrPlanSettings* const settings, const size_t note, const SrPinKind kind)
{
  for (size_t i = 0; i < settings->pin_count; ++i) {
    if (settings->pins[i].note == note && settings->pins[i].kind == kind) {
      return &settings->pins[i];
    }
  }
  return NULL;
}

int
sr_moves_finger_cost(const SrPlanStyle* const style, const SrFinger finger,
                     const SrButton* const button)
{
  const int cost = finger == SR_FINGER_LITTLE ? style->little
                   : finger == SR_FINGER_RING ? style->ring
                                              : 0;
  return cost + (finger != button->finger ? style->other_finger : 0);
}

/// Fill in the costs of a way by itself.
static void
price_way(const SrMoves* const moves, const SrHomeRank rank, SrWay* const way)
{
  const SrPlanStyle* const style = &moves->settings->style;
  const SrButton* const button = sr_instrument_button(moves->instrument, way->button);
  int cost = sr_moves_finger_cost(style, way->finger, button);
  cost += way->row > NEAR_ROWS || way->row == 0 ? style->far_row : 0;
  way->finger_cost = cost;
  way->own_cost = cost + (rank == SR_AWAY             ? style->away
                          : rank == SR_AT_SECOND_HOME ? style->second
                                                      : 0);
}

/// Add the ways to play a note on one button in one direction: by its finger, and by another one.
static void
add_ways(const SrMoves* const moves, const int midi, const int transposed, const size_t button,
         const SrDirection direction, SrChoice* const choice)
{
  const SrButton* const b = sr_instrument_button(moves->instrument, button);
  const SrHomeRank rank = sr_homes_rank(&moves->settings->style, moves->instrument, transposed,
                                        midi, button, direction);
  const SrFinger fingers[] = {b->finger, sr_moves_other_finger(b->finger)};
  // Who leaves home for a button does so for its finger
  const size_t count = fingers[0] == fingers[1] || rank == SR_AWAY ? 1 : 2;
  for (size_t f = 0; f < count && choice->way_count < SR_MOST_WAYS; ++f) {
    SrWay* const way = &choice->ways[choice->way_count++];
    *way = (SrWay){.button = button,
                   .direction = direction,
                   .finger = fingers[f],
                   .hand = b->hand,
                   .row = b->row};
    price_way(moves, rank, way);
  }
}

/// Keep the ways with which a pinned cut can be played; all if there is none, which is said later.
static void
keep_cut(const SrMoves* const moves, const SrPhraseNote* const note, const SrPin* const cut,
         SrChoice* const choice)
{
  size_t kept = 0;
  for (size_t w = 0; w < choice->way_count; ++w) {
    const SrWay way = choice->ways[w];
    if (sr_other_sounds_can_cut(moves->instrument, note, cut, way.button, way.direction,
                                way.finger)) {
      choice->ways[kept++] = way;
    }
  }
  choice->way_count = kept > 0 ? kept : choice->way_count;
}

static void
find_ways(const SrMoves* const moves, const size_t index, const int transposed,
          SrChoice* const choice)
{
  const SrPhraseNote* const note = sr_phrase_note(moves->phrase, index);
  const SrPin* const pin = sr_moves_pin(moves->settings, index, SR_PIN_NOTE);
  const SrPin* const cut = sr_moves_pin(moves->settings, index, SR_PIN_CUT);
  static const SrDirection both[] = {SR_DIRECTION_PRESS, SR_DIRECTION_DRAW};
  choice->way_count = 0;
  for (size_t b = 0; b < sr_instrument_button_count(moves->instrument); ++b) {
    for (size_t d = 0; d < 2; ++d) {
      const bool asked = note->direction == SR_DIRECTION_FREE || note->direction == both[d];
      if (asked && (!pin || pin->button == b) &&
          sr_instrument_midi(moves->instrument, b, both[d]) == note->midi) {
        add_ways(moves, note->midi, transposed, b, both[d], choice);
      }
    }
  }
  if (cut) {
    keep_cut(moves, note, cut, choice);
  }
}

/// Nearest pitches the instrument has below and above a pitch, -1 for none.
static void
find_near(const SrInstrument* const instrument, const int midi, const SrDirection direction,
          int* const under, int* const over)
{
  *under = -1;
  *over = -1;
  for (int step = 1; step < 24; ++step) {
    if (*under < 0 && midi - step >= 0 && sr_instrument_has(instrument, midi - step, direction)) {
      *under = midi - step;
    }
    if (*over < 0 && sr_instrument_has(instrument, midi + step, direction)) {
      *over = midi + step;
    }
  }
}

static void
name_midi(const int midi, char name[16])
{
  static const char* const names[] = {"C",  "C♯", "D",  "E♭", "E",  "F",
                                      "F♯", "G",  "A♭", "A",  "B♭", "B"};
  snprintf(name, 16, "%s%d", names[midi % 12], midi / 12 - 1);
}

/// Report that a note cannot be played, and what is near.
static SrStatus
refuse_note(const SrMoves* const moves, const size_t index, SrError* const error)
{
  const SrPhraseNote* const note = sr_phrase_note(moves->phrase, index);
  char name[16];
  char low[16] = "";
  char high[16] = "";
  int under;
  int over;
  name_midi(note->midi, name);
  find_near(moves->instrument, note->midi, note->direction, &under, &over);
  if (under >= 0) {
    name_midi(under, low);
  }
  if (over >= 0) {
    name_midi(over, high);
  }
  const char* const way = note->direction == SR_DIRECTION_PRESS  ? " on the press"
                          : note->direction == SR_DIRECTION_DRAW ? " on the draw"
                                                                 : "";
  const SrPin* const pin = sr_moves_pin(moves->settings, index, SR_PIN_NOTE);
  if (pin) {
    return sr_error_set(
        error, SR_NOT_FOUND, "Bar %d: button %s, where you pinned the note %s, does not play it%s.",
        note->bar, sr_instrument_button(moves->instrument, pin->button)->name, name, way);
  }
  return sr_error_set(error, SR_NOT_FOUND,
                      "Bar %d: there is no %s%s on this instrument (%s); nearest: %s%s%s.",
                      note->bar, name, way, sr_instrument_title(moves->instrument), low,
                      low[0] && high[0] ? " and " : "", high);
}

/// Number the bars as played, and find where two whole bars end.
static void
number_bars(const SrMoves* const moves)
{
  size_t bar = 0;
  bool pickup = sr_phrase_note(moves->phrase, 0)->bar == 0;
  size_t whole = 0; // whole bars before this one
  for (size_t i = 0; i < moves->count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(moves->phrase, i);
    const SrPhraseNote* const before = i > 0 ? sr_phrase_note(moves->phrase, i - 1) : NULL;
    // A repeat of a single bar starts again with the same number
    if (before && (before->bar != note->bar ||
                   sr_fraction_value(before->in_bar) >= sr_fraction_value(note->in_bar))) {
      ++bar;
      whole += pickup ? 0 : 1;
      moves->choices[i - 1].closes_pair = !pickup && whole % 2 == 0;
      pickup = note->bar == 0;
    }
    moves->choices[i].bar = bar;
  }
  moves->choices[moves->count - 1].closes_pair = !pickup && (whole + 1) % 2 == 0;
}

/// Fill in what a note offers.
static SrStatus
prepare_note(const SrMoves* const moves, const size_t i, const int transposed, SrError* const error)
{
  const SrPlanSettings* const settings = moves->settings;
  const SrPhraseNote* const note = sr_phrase_note(moves->phrase, i);
  const double pulse = sr_fraction_value(sr_phrase_bar(moves->phrase, 0)->pulse);
  const double whole_s = 60.0 / settings->bpm / pulse;
  SrChoice* const choice = &moves->choices[i];
  choice->onset_s = sr_fraction_value(note->start) * whole_s;
  choice->seconds = sr_fraction_value(note->length) * whole_s;
  choice->use = sr_bellows_use(&settings->bellows, note->midi, choice->seconds);
  choice->repeats = i > 0 && sr_phrase_note(moves->phrase, i - 1)->midi == note->midi;
  choice->has_cut = note->cut_midi >= 0;
  choice->air_asked = note->air;
  if (choice->seconds >= SR_HIDES_S) {
    const double most = settings->bellows.air_most * (choice->seconds - SR_HIDES_EDGES_S);
    choice->air_steps = (int)fmin(floor(most / SR_AIR_STEP), SR_MOST_AIR_STEPS);
  }
  const double hurry = fmax(0.0, AIR_EASY_S - choice->seconds) * 10.0;
  choice->air_cost = (note->air ? settings->style.air : settings->style.air_unasked) +
                     settings->style.air_short * (int)ceil(hurry - 1e-9);
  find_ways(moves, i, transposed, choice);
  return choice->way_count ? SR_OK : refuse_note(moves, i, error);
}

SrStatus
sr_moves_new(const SrPhrase* const phrase, const SrInstrument* const instrument,
             const SrPlanSettings* const settings, SrMoves* const moves, SrError* const error)
{
  *moves = (SrMoves){.phrase = phrase, .instrument = instrument, .settings = settings};
  moves->count = sr_phrase_note_count(phrase);
  moves->choices = (SrChoice*)calloc(moves->count, sizeof(SrChoice));
  if (!moves->choices) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to plan this phrase.");
  }
  moves->start = (int)lround(settings->bellows.start * SR_BELLOWS_UNITS);
  const int transposed = sr_homes_transposed(instrument);
  SrStatus status = SR_OK;
  for (size_t i = 0; status == SR_OK && i < moves->count; ++i) {
    status = prepare_note(moves, i, transposed, error);
  }
  if (status == SR_OK) {
    number_bars(moves);
  }
  return status;
}

void
sr_moves_clear(SrMoves* const moves)
{
  free(moves->choices);
  moves->choices = NULL;
}

/// A weight marked (time) for a move within some seconds.
static int
timed(const int weight, const double seconds)
{
  if (seconds >= SR_HAND_READY_S) {
    return 0;
  }
  return (int)lround(weight * fmin(USUAL_S / fmax(seconds, 1e-3), MOST_FACTOR));
}

bool
sr_moves_remembers(const SrMoves* const moves, const size_t last, const size_t note)
{
  return moves->choices[note].onset_s - moves->choices[last].onset_s < SR_HAND_READY_S;
}

SrStepCost
sr_moves_step(const SrMoves* const moves, const size_t note, const SrWay* const from,
              const SrLast last, const SrWay* const to)
{
  const SrPlanStyle* const style = &moves->settings->style;
  const SrChoice* const choice = &moves->choices[note];
  const double step_s = choice->onset_s - moves->choices[note - 1].onset_s;
  const bool turns = from->direction != to->direction;
  const bool stays = from->button == to->button && from->finger == to->finger;
  SrStepCost cost = {0, 0, 0, 0};
  if (turns) {
    cost.turn = timed(stays ? style->turn_held : style->turn, step_s);
  }
  if (last.way) {
    const double last_s = choice->onset_s - moves->choices[last.note].onset_s;
    const bool moved = last.way->button != to->button;
    const bool same = moved && same_finger(last.way, to);
    cost.jump = same ? timed(style->jump, last_s) : 0;
    cost.row = timed(style->row * abs(last.way->row - to->row), last_s);
  }
  if (choice->repeats) {
    const bool apart = !stays || turns;
    const int factor = apart && choice->has_cut ? CUT_APART : 1;
    cost.apart = apart ? factor * style->apart : timed(style->again, step_s);
  }
  return cost;
}

int
sr_moves_step_sum(const SrStepCost cost)
{
  return cost.turn + cost.jump + cost.row + cost.apart;
}

int
sr_moves_room_cost(const SrMoves* const moves, const SrDirection direction, const int after)
{
  const int left = direction == SR_DIRECTION_PRESS ? after : SR_BELLOWS_UNITS - after;
  const int tenth = SR_BELLOWS_UNITS / 10;
  const int under = 2 * tenth - left;
  return under > 0 ? moves->settings->style.low_room * ((under + tenth - 1) / tenth) : 0;
}

int
sr_moves_air_cost(const SrMoves* const moves, const size_t note, const int steps, const int after)
{
  const SrChoice* const choice = &moves->choices[note];
  const int missed = moves->settings->style.air_not_taken;
  int cost = 0;
  if (choice->air_asked && choice->air_steps > 0) {
    // Air is requested in order to recover bellows room
    cost = missed * (abs(2 * after - SR_BELLOWS_UNITS) / 2 / (SR_BELLOWS_UNITS / 20));
    cost += steps > 0 ? 0 : NOT_TAKEN * missed;
  }
  // Prefer less air
  return cost + (steps > 0 ? choice->air_cost + steps : 0);
}
