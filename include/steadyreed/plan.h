// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file plan.h
   Instrument layouts: which button sounds what, in each direction of the bellows.
*/

#ifndef STEADYREED_PLAN_H
#define STEADYREED_PLAN_H

#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

/// A hand.
typedef enum { SR_HAND_LEFT, SR_HAND_RIGHT } SrHand;

/// A button.
typedef struct {
  SrHand hand;
  int row;        ///< 1 is nearest to the palm, 3 the row of accidentals
  int column;     ///< From 1, outwards to inwards on the left, inwards to outwards on the right
  int press_midi; ///< What it sounds when the bellows close, as a MIDI note number
  int draw_midi;  ///< … and when they open
} SrButton;

/// A layout.
typedef struct {
  const char* name;
  const SrButton* buttons;
  size_t button_count;
} SrInstrument;

/// The Anglo of 30 buttons in C and G (common
/// practice, no source).
const SrInstrument* sr_instrument_default(void);
/// Whether any button sounds a pitch in a direction; SR_DIRECTION_FREE for either.
bool sr_instrument_has(const SrInstrument* instrument, int midi, SrDirection direction);

#endif // STEADYREED_PLAN_H
