// SPDX-License-Identifier: GPL-3.0-or-later

#include "moves.h"
#include "other_sounds.h"

#include <limits.h>
#include <stdlib.h>

/// A button that is not free for a cut.
#define NOT_FREE INT_MAX
/// Wider intervals than this, semitones, cost `cut_step` each.
#define EASY_STEP 4

/// One cut or strike to find a button for.
typedef struct {
  const SrInstrument* instrument;
  const SrPlanStyle* style;
  const SrPlannedNote* note;
  const SrPlannedNote* before; ///< NULL for none
  int midi;                    ///< Of the note
  bool strike;
  const SrPin* pin; ///< NULL for none
  int written;      ///< Pitch of the written grace
} Cut;

/// Whether a finger holds the note, or another sound of its chord.
static bool
holds(const Cut* const c, const SrButton* const button)
{
  bool held = c->note->finger == button->finger &&
              sr_instrument_button(c->instrument, c->note->button)->hand == button->hand;
  for (size_t s = 0; s < c->note->sound_count; ++s) {
    const SrPlannedSound* const sound = &c->note->sounds[s];
    held =
        held || (sound->button >= 0 && sound->finger == button->finger &&
                 sr_instrument_button(c->instrument, (size_t)sound->button)->hand == button->hand);
  }
  return held;
}

/// Whether a button sounds in the note or its chord.
static bool
sounds(const SrPlannedNote* const note, const size_t button)
{
  bool any = note->button == button;
  for (size_t s = 0; s < note->sound_count; ++s) {
    any = any || note->sounds[s].button == (long)button;
  }
  return any;
}

/// Whether the button's finger has just left another button.
static bool
has_left(const Cut* const c, const SrButton* const button)
{
  const SrPlannedNote* const before = c->before;
  return before && before->finger == button->finger &&
         sr_instrument_button(c->instrument, before->button)->hand == button->hand;
}

static bool
is_pinned_away(const Cut* const c, const size_t button, const int midi)
{
  return c->pin &&
         (c->pin->button == SR_PIN_AS_WRITTEN ? midi != c->written : c->pin->button != button);
}

/// Cost of a button for a cut; NOT_FREE if it cannot be.
static int
cost_of(const Cut* const c, const size_t index)
{
  const SrPlanStyle* const style = c->style;
  const SrButton* const button = sr_instrument_button(c->instrument, index);
  const SrButton* const own = sr_instrument_button(c->instrument, c->note->button);
  const int midi = sr_instrument_midi(c->instrument, index, c->note->direction);
  const int step = c->strike ? c->midi - midi : midi - c->midi;
  if (midi < 0 || step < 1 || step > SR_GRACE_MOST_STEP || holds(c, button) ||
      sounds(c->note, index) || (c->before && sounds(c->before, index)) ||
      is_pinned_away(c, index, midi)) {
    return NOT_FREE;
  }
  int cost = button->finger == SR_FINGER_LITTLE || button->finger == SR_FINGER_THUMB
                 ? style->cut_little
             : button->finger == SR_FINGER_RING ? style->cut_ring
                                                : 0;
  cost += button->hand != own->hand ? style->cut_hand : 0;
  cost += button->hand == own->hand && button->row != own->row ? style->cut_row : 0;
  cost += step > EASY_STEP ? style->cut_step * (step - EASY_STEP) : 0;
  return cost + (has_left(c, button) ? style->cut_left : 0);
}

/// The cheapest button for a cut, among equals the one that is cheapest in all places; -1 for none.
static long
cheapest(const Cut* const c, const long* const totals)
{
  long best = -1;
  int least = NOT_FREE;
  for (size_t b = 0; b < sr_instrument_button_count(c->instrument); ++b) {
    const int cost = cost_of(c, b);
    if (cost < least || (cost == least && best >= 0 && totals && totals[b] < totals[best])) {
      least = cost;
      best = (long)b;
    }
  }
  return best;
}

bool
sr_other_sounds_can_cut(const SrInstrument* const instrument, const SrPhraseNote* const written,
                        const SrPin* const pin, const size_t button, const SrDirection direction,
                        const SrFinger finger)
{
  static const SrPlanStyle free_of_charge;
  const SrPlannedNote note = {.button = button, .direction = direction, .finger = finger};
  const Cut cut = {.instrument = instrument,
                   .style = &free_of_charge,
                   .note = &note,
                   .midi = written->midi,
                   .strike = written->cut_midi < written->midi,
                   .pin = pin,
                   .written = written->cut_midi};
  return written->cut_midi >= 0 && cheapest(&cut, NULL) >= 0;
}

long
sr_plan_cut(const SrInstrument* const instrument, const SrPlanStyle* const style,
            const size_t button, const SrDirection direction, const int midi, const bool strike,
            int* const cut_midi)
{
  const SrPlannedNote note = {.button = button,
                              .direction = direction,
                              .finger = sr_instrument_button(instrument, button)->finger};
  const Cut cut = {
      .instrument = instrument, .style = style, .note = &note, .midi = midi, .strike = strike};
  const long best = cheapest(&cut, NULL);
  *cut_midi = best < 0 ? -1 : sr_instrument_midi(instrument, (size_t)best, direction);
  return best;
}

static Cut
cut_at(const SrPhrase* const phrase, const SrInstrument* const instrument,
       const SrPlanSettings* const settings, const SrPlannedNote* const notes, const size_t i)
{
  const SrPhraseNote* const written = sr_phrase_note(phrase, i);
  const Cut cut = {.instrument = instrument,
                   .style = &settings->style,
                   .note = &notes[i],
                   .before = i > 0 ? &notes[i - 1] : NULL,
                   .midi = written->midi,
                   .strike = written->cut_midi < written->midi,
                   .pin = sr_moves_pin(settings, i, SR_PIN_CUT),
                   .written = written->cut_midi};
  return cut;
}

static SrStatus
refuse_pin(const SrPhraseNote* const written, const Cut* const cut, SrError* const error)
{
  const char* const what = cut->strike ? "strike" : "cut";
  if (written->cut_midi < 0) {
    return sr_error_set(error, SR_NOT_FOUND,
                        "Bar %d: the %s has no cut or strike whose button could be fixed.",
                        written->bar, written->name);
  }
  if (cut->pin->button == SR_PIN_AS_WRITTEN) {
    return sr_error_set(error, SR_NOT_FOUND,
                        "Bar %d: the written %s before the %s cannot be played in this direction "
                        "with a free finger.",
                        written->bar, what, written->name);
  }
  return sr_error_set(error, SR_NOT_FOUND,
                      "Bar %d: button %s cannot be the %s before the %s: it must sound up to a "
                      "sixth %s, in the same direction, under a free finger, and not have sounded "
                      "just before.",
                      written->bar, sr_instrument_button(cut->instrument, cut->pin->button)->name,
                      what, written->name, cut->strike ? "lower" : "higher");
}

/// Index of a way to hold a note and cut it, among all.
static size_t
key_of(const SrPlannedNote* const note, const bool strike)
{
  return (note->button * 2 + (note->direction == SR_DIRECTION_DRAW)) * 2 + strike;
}

SrStatus
sr_other_sounds_cuts(const SrPhrase* const phrase, const SrInstrument* const instrument,
                     const SrPlanSettings* const settings, SrPlannedNote* const notes,
                     SrError* const error)
{
  const size_t buttons = sr_instrument_button_count(instrument);
  long* const totals = (long*)calloc(buttons * buttons * 4, sizeof(long));
  if (!totals) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to plan this phrase.");
  }
  const size_t count = sr_phrase_note_count(phrase);
  for (size_t i = 0; i < count; ++i) {
    const Cut cut = cut_at(phrase, instrument, settings, notes, i);
    long* const own = totals + key_of(&notes[i], cut.strike) * buttons;
    for (size_t b = 0; cut.written >= 0 && b < buttons; ++b) {
      const int cost = cost_of(&cut, b);
      own[b] += cost == NOT_FREE ? settings->style.cut_left : cost;
    }
  }
  SrStatus status = SR_OK;
  for (size_t i = 0; status == SR_OK && i < count; ++i) {
    const Cut cut = cut_at(phrase, instrument, settings, notes, i);
    SrPlannedNote* const note = &notes[i];
    const long best =
        cut.written < 0 ? -1 : cheapest(&cut, totals + key_of(note, cut.strike) * buttons);
    note->cut_button = best;
    note->cut_midi = best < 0 ? -1 : sr_instrument_midi(instrument, (size_t)best, note->direction);
    note->cut_finger =
        best < 0 ? SR_FINGER_THUMB : sr_instrument_button(instrument, (size_t)best)->finger;
    if (best < 0 && cut.pin) {
      status = refuse_pin(sr_phrase_note(phrase, i), &cut, error);
    }
  }
  free(totals);
  return status;
}
