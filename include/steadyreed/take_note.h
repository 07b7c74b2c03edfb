// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file take_note.h
   What a kept take was made for, as it stands in its file, so that it is judged later as it was
   when it was played.
*/

#ifndef STEADYREED_TAKE_NOTE_H
#define STEADYREED_TAKE_NOTE_H

#include <steadyreed/losses.h>
#include <steadyreed/recording.h>

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/// A note. Doubles are NAN where there is nothing to say.
typedef struct {
  char phrase[128];      ///< Title, UTF-8
  double target_bpm;     ///< Pulses a minute asked for
  double click_s;        ///< When a click was heard by the player, in the take's time
  double click_period_s; ///< From click to click
  double click_pulses;   ///< Pulses from click to click
  SrLosses losses;       ///< What was lost of the take
  SrLosses silences;     ///< When the click was silent while it went on
  unsigned silent_bars;  ///< Bars of each; 0 if it never was
} SrTakeNote;

/// Put a title into a note, cut on a whole character.
void sr_take_note_title(SrTakeNote* note, const char* title);

/// Write a note as JSON. False without memory or room.
bool sr_take_note_write(const SrTakeNote* note, char text[SR_TAKE_NOTE_SIZE]);

/// Read a note; false if it is none of ours, then all is NAN.
bool sr_take_note_read(const char* text, SrTakeNote* note);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_TAKE_NOTE_H
