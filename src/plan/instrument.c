// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/plan.h>

// Common practice, no source; from memory. Rows from the palm: G, C, accidentals.
static const SrButton BUTTONS_30_C_G[] = {
    {SR_HAND_LEFT, 1, 1, 59, 57},  {SR_HAND_LEFT, 1, 2, 62, 66},  {SR_HAND_LEFT, 1, 3, 67, 69},
    {SR_HAND_LEFT, 1, 4, 71, 72},  {SR_HAND_LEFT, 1, 5, 74, 76},  {SR_HAND_LEFT, 2, 1, 48, 55},
    {SR_HAND_LEFT, 2, 2, 55, 59},  {SR_HAND_LEFT, 2, 3, 60, 62},  {SR_HAND_LEFT, 2, 4, 64, 65},
    {SR_HAND_LEFT, 2, 5, 67, 69},  {SR_HAND_LEFT, 3, 1, 52, 53},  {SR_HAND_LEFT, 3, 2, 57, 58},
    {SR_HAND_LEFT, 3, 3, 61, 63},  {SR_HAND_LEFT, 3, 4, 69, 67},  {SR_HAND_LEFT, 3, 5, 68, 70},
    {SR_HAND_RIGHT, 1, 1, 79, 78}, {SR_HAND_RIGHT, 1, 2, 83, 81}, {SR_HAND_RIGHT, 1, 3, 86, 84},
    {SR_HAND_RIGHT, 1, 4, 91, 88}, {SR_HAND_RIGHT, 1, 5, 95, 90}, {SR_HAND_RIGHT, 2, 1, 72, 71},
    {SR_HAND_RIGHT, 2, 2, 76, 74}, {SR_HAND_RIGHT, 2, 3, 79, 77}, {SR_HAND_RIGHT, 2, 4, 84, 81},
    {SR_HAND_RIGHT, 2, 5, 88, 83}, {SR_HAND_RIGHT, 3, 1, 73, 75}, {SR_HAND_RIGHT, 3, 2, 81, 79},
    {SR_HAND_RIGHT, 3, 3, 80, 82}, {SR_HAND_RIGHT, 3, 4, 85, 87}, {SR_HAND_RIGHT, 3, 5, 93, 89},
};

static const SrInstrument INSTRUMENT_30_C_G = {"30 buttons, C/G", BUTTONS_30_C_G,
                                               sizeof(BUTTONS_30_C_G) / sizeof(BUTTONS_30_C_G[0])};

const SrInstrument*
sr_instrument_default(void)
{
  return &INSTRUMENT_30_C_G;
}

bool
sr_instrument_has(const SrInstrument* const instrument, const int midi, const SrDirection direction)
{
  for (size_t i = 0; i < instrument->button_count; ++i) {
    const SrButton* const button = &instrument->buttons[i];
    if ((direction != SR_DIRECTION_DRAW && button->press_midi == midi) ||
        (direction != SR_DIRECTION_PRESS && button->draw_midi == midi)) {
      return true;
    }
  }
  return false;
}
