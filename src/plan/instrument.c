// SPDX-License-Identifier: GPL-3.0-or-later

#include "instrument_parts.h"

#include <stdlib.h>
#include <strings.h>

void
sr_instrument_del(SrInstrument* const instrument)
{
  free(instrument);
}

const char*
sr_instrument_name(const SrInstrument* const instrument)
{
  return instrument->name;
}

const char*
sr_instrument_title(const SrInstrument* const instrument)
{
  return instrument->title;
}

size_t
sr_instrument_button_count(const SrInstrument* const instrument)
{
  return instrument->button_count;
}

const SrButton*
sr_instrument_button(const SrInstrument* const instrument, const size_t index)
{
  return &instrument->buttons[index];
}

SrHand
sr_instrument_air_hand(const SrInstrument* const instrument)
{
  return instrument->air_hand;
}

SrFinger
sr_instrument_air_finger(const SrInstrument* const instrument)
{
  return instrument->air_finger;
}

int
sr_instrument_midi(const SrInstrument* const instrument, const size_t button,
                   const SrDirection direction)
{
  const SrButton* const found = &instrument->buttons[button];
  return direction == SR_DIRECTION_DRAW ? found->draw_midi : found->press_midi;
}

bool
sr_instrument_has(const SrInstrument* const instrument, const int midi, const SrDirection direction)
{
  for (size_t i = 0; midi >= 0 && i < instrument->button_count; ++i) {
    const SrButton* const button = &instrument->buttons[i];
    if ((direction != SR_DIRECTION_DRAW && button->press_midi == midi) ||
        (direction != SR_DIRECTION_PRESS && button->draw_midi == midi)) {
      return true;
    }
  }
  return false;
}

size_t
sr_instrument_find(const SrInstrument* const instrument, const char* const name)
{
  size_t index = 0;
  while (index < instrument->button_count &&
         strcasecmp(instrument->buttons[index].name, name) != 0) {
    ++index;
  }
  return index;
}
