// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file instrument_parts.h
   The parts of a layout, for code that creates one.
*/

#ifndef SR_PLAN_INSTRUMENT_PARTS_H
#define SR_PLAN_INSTRUMENT_PARTS_H

#include <steadyreed/instrument.h>

/// Size of a name and of a title, bytes with the NUL.
#define SR_INSTRUMENT_NAME_SIZE 64
#define SR_INSTRUMENT_TITLE_SIZE 128

struct SrInstrumentImpl {
  char name[SR_INSTRUMENT_NAME_SIZE];
  char title[SR_INSTRUMENT_TITLE_SIZE];
  SrHand air_hand;
  SrFinger air_finger;
  size_t button_count;
  SrButton buttons[SR_MOST_BUTTONS];
};

#endif // SR_PLAN_INSTRUMENT_PARTS_H
