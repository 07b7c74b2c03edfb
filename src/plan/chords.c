// SPDX-License-Identifier: GPL-3.0-or-later

#include "moves.h"
#include "other_sounds.h"

#include <string.h>

/// Cost of a sound without a button, above any sum of others.
#define NO_BUTTON 100000

/// A search through the fingers for one chord.
typedef struct {
  const SrPhraseNote* written;
  const SrInstrument* instrument;
  const SrPlanStyle* style;
  const SrPlannedNote* note;
  const SrPlannedNote* before; ///< NULL for none
  bool taken[2][SR_FINGER_LITTLE + 1];
  SrPlannedSound now[SR_CHORD_SIZE];
  SrPlannedSound best[SR_CHORD_SIZE];
  int best_cost;
} Chord;

/// Whether a finger held another button for the note before.
static bool
has_to_jump(const Chord* const c, const SrHand hand, const SrFinger finger, const size_t button)
{
  const SrPlannedNote* const before = c->before;
  if (!before) {
    return false;
  }
  bool jump = before->button != button && before->finger == finger &&
              sr_instrument_button(c->instrument, before->button)->hand == hand;
  for (size_t s = 0; s < before->sound_count; ++s) {
    const SrPlannedSound* const sound = &before->sounds[s];
    jump =
        jump || (sound->button >= 0 && (size_t)sound->button != button && sound->finger == finger &&
                 sr_instrument_button(c->instrument, (size_t)sound->button)->hand == hand);
  }
  return jump;
}

static int
cost_of(const Chord* const c, const SrButton* const button, const size_t index,
        const SrFinger finger)
{
  const SrPlanStyle* const style = c->style;
  const SrHand melody = sr_instrument_button(c->instrument, c->note->button)->hand;
  int cost = sr_moves_finger_cost(style, finger, button);
  cost += button->hand == melody ? style->away : 0;
  return cost + (has_to_jump(c, button->hand, finger, index) ? style->jump : 0);
}

/// Try all fingers for sound `s` and those after it.
static void
try_sounds(Chord* const c, const int s, const int cost)
{
  if (cost >= c->best_cost) {
    return;
  }
  if (s == c->written->chord_count) {
    c->best_cost = cost;
    memcpy(c->best, c->now, sizeof(c->now));
    return;
  }
  const int midi = c->written->chord_midi[s];
  for (size_t b = 0; b < sr_instrument_button_count(c->instrument); ++b) {
    const SrButton* const button = sr_instrument_button(c->instrument, b);
    if (sr_instrument_midi(c->instrument, b, c->note->direction) != midi) {
      continue;
    }
    const SrFinger fingers[] = {button->finger, sr_moves_other_finger(button->finger)};
    for (size_t f = 0; f < (fingers[0] == fingers[1] ? 1u : 2u); ++f) {
      bool* const taken = &c->taken[button->hand][fingers[f]];
      if (!*taken) {
        *taken = true;
        c->now[s] = (SrPlannedSound){midi, (long)b, fingers[f]};
        try_sounds(c, s + 1, cost + cost_of(c, button, b, fingers[f]));
        *taken = false;
      }
    }
  }
  c->now[s] = (SrPlannedSound){midi, -1, SR_FINGER_THUMB};
  try_sounds(c, s + 1, cost + NO_BUTTON);
}

void
sr_other_sounds_chords(const SrPhrase* const phrase, const SrInstrument* const instrument,
                       const SrPlanSettings* const settings, SrPlannedNote* const notes)
{
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    SrPlannedNote* const note = &notes[i];
    Chord chord = {.written = sr_phrase_note(phrase, i),
                   .instrument = instrument,
                   .style = &settings->style,
                   .note = note,
                   .before = i > 0 ? &notes[i - 1] : NULL,
                   .best_cost = NO_BUTTON * (SR_CHORD_SIZE + 1)};
    chord.taken[sr_instrument_button(instrument, note->button)->hand][note->finger] = true;
    if (note->air > 0) {
      chord.taken[sr_instrument_air_hand(instrument)][sr_instrument_air_finger(instrument)] = true;
    }
    try_sounds(&chord, 0, 0);
    note->sound_count = (size_t)chord.written->chord_count;
    memcpy(note->sounds, chord.best, note->sound_count * sizeof(SrPlannedSound));
  }
}
