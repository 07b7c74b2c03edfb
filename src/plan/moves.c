// SPDX-License-Identifier: GPL-3.0-or-later

#include "moves.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Notes below this are for the left hand, from it on for the right: C5.
#define HAND_MIDI 72
/// Factor of the weight if requested air is not taken.
#define NOT_TAKEN 12
/// Rows beyond this are far.
#define NEAR_ROWS 2
/// A longer rest, s, gives the hand time to move.
#define REST_S 0.15
/// From this length on, s, taking air has no extra cost for hurry.
#define AIR_EASY_S 0.6

static const SrButton*
button_of(const SrMoves* const moves, const SrWay* const way)
{
  return sr_instrument_button(moves->instrument, way->button);
}

static bool
same_finger(const SrButton* const a, const SrButton* const b)
{
  return a->hand == b->hand && a->finger == b->finger;
}

long
sr_plan_cut(const SrInstrument* const instrument, const size_t button, const SrDirection direction,
            const int midi, const int wanted, int* const cut_midi)
{
  const SrButton* const own = sr_instrument_button(instrument, button);
  long best = -1;
  int nearest = 128;
  *cut_midi = -1;
  for (size_t b = 0; b < sr_instrument_button_count(instrument); ++b) {
    const int sounds = sr_instrument_midi(instrument, b, direction);
    // A strike is below its note
    const int step = wanted < midi ? midi - sounds : sounds - midi;
    if (b == button || sounds < 0 || step < 1 || step > SR_GRACE_MOST_STEP ||
        same_finger(sr_instrument_button(instrument, b), own)) {
      continue;
    }
    const int apart = abs(sounds - wanted);
    if (apart < nearest) {
      nearest = apart;
      best = (long)b;
      *cut_midi = sounds;
    }
  }
  return best;
}

/// Find a button for the cut before a note. Returns its cost.
static int
find_cut(const SrMoves* const moves, const SrPhraseNote* const note, SrWay* const way)
{
  const SrPlanStyle* const style = &moves->settings->style;
  way->cut_button = -1;
  way->cut_midi = -1;
  if (note->cut_midi < 0) {
    return 0;
  }
  way->cut_button = sr_plan_cut(moves->instrument, way->button, way->direction, note->midi,
                                note->cut_midi, &way->cut_midi);
  return way->cut_button < 0               ? style->no_cut
         : way->cut_midi != note->cut_midi ? style->other_cut
                                           : 0;
}

/// Cost of a way by itself.
static int
own_cost(const SrMoves* const moves, const SrPhraseNote* const note, SrWay* const way)
{
  const SrPlanStyle* const style = &moves->settings->style;
  const SrButton* const button = button_of(moves, way);
  const bool low = note->midi < HAND_MIDI;
  int cost = find_cut(moves, note, way);
  cost += button->finger == SR_FINGER_LITTLE ? style->stretch : 0;
  cost += button->row > NEAR_ROWS || button->row == 0 ? style->far_row : 0;
  cost += (button->hand == SR_HAND_RIGHT) == low ? style->hand : 0;
  return cost;
}

/// The button a note is pinned to; the button count if it is not.
static size_t
pinned_button(const SrMoves* const moves, const size_t note)
{
  const SrPlanSettings* const settings = moves->settings;
  for (size_t i = 0; i < settings->pin_count; ++i) {
    if (settings->pins[i].note == note) {
      return settings->pins[i].button;
    }
  }
  return sr_instrument_button_count(moves->instrument);
}

static void
find_ways(const SrMoves* const moves, const size_t index, SrChoice* const choice)
{
  const SrPhraseNote* const note = sr_phrase_note(moves->phrase, index);
  const size_t buttons = sr_instrument_button_count(moves->instrument);
  const size_t pinned = pinned_button(moves, index);
  static const SrDirection both[] = {SR_DIRECTION_PRESS, SR_DIRECTION_DRAW};
  choice->way_count = 0;
  for (size_t b = 0; b < buttons; ++b) {
    for (size_t d = 0; d < 2; ++d) {
      const bool asked = note->direction == SR_DIRECTION_FREE || note->direction == both[d];
      if (asked && (pinned == buttons || pinned == b) && choice->way_count < SR_MOST_WAYS &&
          sr_instrument_midi(moves->instrument, b, both[d]) == note->midi) {
        SrWay* const way = &choice->ways[choice->way_count++];
        *way = (SrWay){.button = b, .direction = both[d]};
        way->own_cost = own_cost(moves, note, way);
      }
    }
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
  const size_t buttons = sr_instrument_button_count(moves->instrument);
  if (pinned_button(moves, index) < buttons) {
    return sr_error_set(
        error, SR_NOT_FOUND, "Bar %d: button %s, where you pinned the note %s, does not play it%s.",
        note->bar, sr_instrument_button(moves->instrument, pinned_button(moves, index))->name, name,
        way);
  }
  return sr_error_set(error, SR_NOT_FOUND,
                      "Bar %d: there is no %s%s on this instrument (%s); nearest: %s%s%s.",
                      note->bar, name, way, sr_instrument_title(moves->instrument), low,
                      low[0] && high[0] ? " and " : "", high);
}

/// Length of the rest before a note, whole notes.
static double
rest_before(const SrPhrase* const phrase, const size_t index)
{
  if (index == 0) {
    return 0.0;
  }
  const SrPhraseNote* const before = sr_phrase_note(phrase, index - 1);
  const double end = sr_fraction_value(before->start) + sr_fraction_value(before->length);
  return sr_fraction_value(sr_phrase_note(phrase, index)->start) - end;
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
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  const double whole_s = 60.0 / settings->bpm / pulse;
  for (size_t i = 0; i < moves->count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    SrChoice* const choice = &moves->choices[i];
    choice->seconds = sr_fraction_value(note->length) * whole_s;
    choice->use = sr_bellows_use(&settings->bellows, note->midi, choice->seconds);
    choice->after_rest = rest_before(phrase, i) * whole_s > REST_S;
    choice->repeats = i > 0 && sr_phrase_note(phrase, i - 1)->midi == note->midi;
    choice->has_cut = note->cut_midi >= 0;
    choice->air_asked = note->air;
    const double pulses = sr_fraction_value(note->in_bar) / pulse;
    choice->on_pulse = fabs(pulses - round(pulses)) < 1e-6;
    if (choice->seconds >= SR_HIDES_S) {
      const double most = settings->bellows.air_most * (choice->seconds - SR_HIDES_EDGES_S);
      choice->air_steps = (int)fmin(floor(most / SR_AIR_STEP), SR_MOST_AIR_STEPS);
    }
    const double hurry = fmax(0.0, AIR_EASY_S - choice->seconds) * 10.0;
    choice->air_cost = (note->air ? settings->style.air : settings->style.air_unasked) +
                       settings->style.air_short * (int)ceil(hurry - 1e-9);
    find_ways(moves, i, choice);
    if (choice->way_count == 0) {
      return refuse_note(moves, i, error);
    }
  }
  return SR_OK;
}

void
sr_moves_clear(SrMoves* const moves)
{
  free(moves->choices);
  moves->choices = NULL;
}

SrStepCost
sr_moves_step(const SrMoves* const moves, const size_t note, const SrWay* const from,
              const SrWay* const to)
{
  const SrPlanStyle* const style = &moves->settings->style;
  const SrButton* const a = button_of(moves, from);
  const SrButton* const b = button_of(moves, to);
  const bool rested = moves->choices[note].after_rest;
  const bool on_pulse = moves->choices[note].on_pulse;
  const bool turns = from->direction != to->direction;
  SrStepCost cost = {0, 0, 0, 0, 0};
  cost.turn = !turns ? 0 : on_pulse || rested ? style->turn : style->turn_inside;
  cost.flat = !turns && on_pulse ? style->flat : 0;
  cost.jump = !rested && from->button != to->button && same_finger(a, b) ? style->jump : 0;
  cost.row = !rested && a->hand == b->hand ? style->row * abs(a->row - b->row) : 0;
  const SrChoice* const choice = &moves->choices[note];
  const bool same = from->button == to->button && !turns;
  cost.apart = choice->repeats && !same && (choice->has_cut || !rested)
                   ? style->apart * (choice->has_cut ? 3 : 1)
                   : 0;
  return cost;
}

int
sr_moves_step_cost(const SrMoves* const moves, const size_t note, const SrWay* const from,
                   const SrWay* const to)
{
  const SrStepCost cost = sr_moves_step(moves, note, from, to);
  return cost.turn + cost.flat + cost.jump + cost.row + cost.apart;
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
