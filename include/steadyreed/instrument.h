// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file instrument.h
   Instrument layouts: what each button sounds in each bellows direction, and which finger plays it.
   Read from JSON; src/plan/instruments/README.md describes the format, and the shipped layouts are
   examples.
*/

#ifndef STEADYREED_INSTRUMENT_H
#define STEADYREED_INSTRUMENT_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// A hand.
typedef enum { SR_HAND_LEFT, SR_HAND_RIGHT } SrHand;

/// A finger.
typedef enum {
  SR_FINGER_THUMB,
  SR_FINGER_INDEX,
  SR_FINGER_MIDDLE,
  SR_FINGER_RING,
  SR_FINGER_LITTLE,
} SrFinger;

/// A button.
typedef struct {
  SrHand hand;
  int row;    ///< 1 is nearest to the palm; 0 for an extra button outside the rows
  int column; ///< From 1, in the direction of rising pitch: from the outer end of the row on the
              ///< left hand, from the inner end on the right
  SrFinger finger; ///< The finger that plays it
  int press_midi;  ///< MIDI note sounded on press; -1 for none
  int draw_midi;   ///< MIDI note sounded on draw; -1 for none
  char name[16];   ///< "L2-3": hand, row, column; an extra button has its own, or "L0-1"
} SrButton;

/// Limits of a layout.
#define SR_MOST_BUTTONS 128
#define SR_MOST_ROWS 6
#define SR_MOST_COLUMNS 16                    ///< Also the most extra buttons of one hand
#define SR_LOWEST_REED 24                     ///< C1, MIDI
#define SR_HIGHEST_REED 120                   ///< C9
#define SR_INSTRUMENT_MOST_BYTES (256u << 10) ///< Largest size of a file

/// A layout. It owns everything its functions return.
typedef struct SrInstrumentImpl SrInstrument;

/**
   Read a layout.

   @param path       JSON file.
   @param instrument Receives it; free it with sr_instrument_del(). NULL on error.
   @return SR_OK, SR_NOT_FOUND, SR_NO_PERMISSION, SR_BAD_SYNTAX (with line and column, or the place
           in words, such as "left row 2, button 3: …"), SR_UNSUPPORTED for a later version of the
           format, SR_TOO_LARGE or SR_NO_MEMORY.
*/
SrStatus sr_instrument_read_file(const char* path, SrInstrument** instrument, SrError* error);
/**
   Read a layout from text in memory; `name` appears in errors and, as a path, gives the layout's
   name.
*/
SrStatus sr_instrument_read_text(const char* text, size_t size, const char* name,
                                 SrInstrument** instrument, SrError* error);
/// Free; NULL does nothing.
void sr_instrument_del(SrInstrument* instrument);

/// Short name: the file name without folder and ".json", such as "30-c-g".
const char* sr_instrument_name(const SrInstrument* instrument);
/// Title to display, such as "30 buttons, C and G".
const char* sr_instrument_title(const SrInstrument* instrument);
/// Its buttons.
size_t sr_instrument_button_count(const SrInstrument* instrument);
const SrButton* sr_instrument_button(const SrInstrument* instrument, size_t index);
/// The hand and finger of the air button.
SrHand sr_instrument_air_hand(const SrInstrument* instrument);
SrFinger sr_instrument_air_finger(const SrInstrument* instrument);
/// What a button sounds; -1 for none. `direction` is SR_DIRECTION_PRESS or SR_DIRECTION_DRAW.
int sr_instrument_midi(const SrInstrument* instrument, size_t button, SrDirection direction);
/// Whether any button sounds a pitch in a direction; SR_DIRECTION_FREE for either.
bool sr_instrument_has(const SrInstrument* instrument, int midi, SrDirection direction);
/// Index of the button with a name ("L2-3", in any case); the button count if there is none.
size_t sr_instrument_find(const SrInstrument* instrument, const char* name);

SR_END_DECLARATIONS

#endif // STEADYREED_INSTRUMENT_H
