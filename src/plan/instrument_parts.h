// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file instrument_parts.h
   What a layout is made of, for those who make one.
*/

#ifndef SR_PLAN_INSTRUMENT_PARTS_H
#define SR_PLAN_INSTRUMENT_PARTS_H

#include <steadyreed/instrument.h>

/// Bytes of a name and of a title, with the ending NUL.
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
