// SPDX-License-Identifier: GPL-3.0-or-later

#include "homes.h"

#include <string.h>

/// The button that tells the key of an instrument, and what it sounds on a C and G one.
#define KEY_BUTTON "L2-3"
#define KEY_MIDI 60

int
sr_homes_transposed(const SrInstrument* const instrument)
{
  const size_t button = sr_instrument_find(instrument, KEY_BUTTON);
  const int midi = button < sr_instrument_button_count(instrument)
                       ? sr_instrument_midi(instrument, button, SR_DIRECTION_PRESS)
                       : -1;
  return midi < 0 ? 0 : midi - KEY_MIDI;
}

/// Whether a home exists on this instrument; `button` receives it.
static bool
exists(const SrInstrument* const instrument, const SrHome* const home, const int midi,
       size_t* const button)
{
  *button = home->button[0] ? sr_instrument_find(instrument, home->button) : SIZE_MAX;
  return *button < sr_instrument_button_count(instrument) &&
         sr_instrument_midi(instrument, *button, home->direction) == midi;
}

SrHomeRank
sr_homes_rank(const SrPlanStyle* const style, const SrInstrument* const instrument,
              const int transposed, const int midi, const size_t button,
              const SrDirection direction)
{
  for (size_t p = 0; p < style->pitch_count; ++p) {
    const SrPitchHomes* const pitch = &style->pitches[p];
    if (pitch->midi != midi - transposed) {
      continue;
    }
    bool any = false;
    for (size_t h = 0; h < SR_HOMES_EACH; ++h) {
      size_t home;
      if (exists(instrument, &pitch->homes[h], midi, &home)) {
        if (home == button && pitch->homes[h].direction == direction) {
          return any ? SR_AT_SECOND_HOME : SR_AT_HOME;
        }
        any = true;
      }
    }
    return any ? SR_AWAY : SR_AT_HOME;
  }
  return SR_AT_HOME;
}
