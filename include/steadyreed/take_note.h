// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file take_note.h
   What a kept take was made for, stored in its file, so that it can later be judged under the same
   conditions.
*/

#ifndef STEADYREED_TAKE_NOTE_H
#define STEADYREED_TAKE_NOTE_H

#include <steadyreed/declarations.h>
#include <steadyreed/losses.h>
#include <steadyreed/recording.h>

#include <stdbool.h>

SR_BEGIN_DECLARATIONS

/// A note. Unknown doubles are NAN.
typedef struct {
  char phrase[128];      ///< Title, UTF-8
  double target_bpm;     ///< Pulses a minute requested
  double click_s;        ///< When the player heard any one click, in the take's time
  double click_period_s; ///< From click to click
  double click_pulses;   ///< Pulses from click to click
  SrLosses losses;       ///< Lost stretches of the take
  SrLosses silences;     ///< Silent stretches of the click
  unsigned silent_bars;  ///< Bars in each; 0 if there are none
} SrTakeNote;

/// Set the title, cut at a whole character.
void sr_take_note_title(SrTakeNote* note, const char* title);

/// Write a note as JSON. False if memory or room is lacking.
bool sr_take_note_write(const SrTakeNote* note, char text[SR_TAKE_NOTE_SIZE]);

/// Parse a note; false if it is not one of ours, then all fields are NAN.
bool sr_take_note_read(const char* text, SrTakeNote* note);

SR_END_DECLARATIONS

#endif // STEADYREED_TAKE_NOTE_H
