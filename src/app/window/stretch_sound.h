// SPDX-License-Identifier: GPL-3.0-or-later

// The samples of a stretch of a recording and of what was written down from it, one after the
// other, as often as they are wanted.

#ifndef SR_WINDOW_STRETCH_SOUND_H
#define SR_WINDOW_STRETCH_SOUND_H

#include "chosen.h"

#include <stddef.h>

/// What is to be heard.
typedef struct {
  const char* path; ///< The recording
  double from_s;    ///< Its stretch
  double to_s;
  SrChosen* written;   ///< What was written down; NULL for the recording alone
  double reference_hz; ///< A4 of what was written, as the recording has it
  bool recorded;       ///< The recording is heard, before what was written
  double speed;        ///< As in slow.h
  bool again;          ///< Over and over
  double pause_s;      ///< Between one and the next
} SrStretchOrder;

/// Where it is.
typedef struct {
  bool sounds;        ///< Something sounds now, and no pause
  double recording_s; ///< Time in the recording; NAN if that is not what sounds
  double written;     ///< Whole notes from the start of what was written; NAN likewise
} SrStretchPlace;

typedef struct SrStretchSoundImpl SrStretchSound;

/// Lengths of the parts of one turn, s; 0 for one that is not played.
typedef struct {
  double recorded_s;
  double written_s; ///< With the silence at its end
  double pause_s;   ///< After each of them
} SrStretchTurn;

/**
   Prepare it; this may read the recording up to the stretch.

   @param order   What it names must stay.
   @param rate_hz Sample rate of what comes out.
   @param error   Says why not.
   @return NULL on error.
*/
SrStretchSound* sr_stretch_sound_new(const SrStretchOrder* order, double rate_hz, SrError* error);
void sr_stretch_sound_free(SrStretchSound* sound);
SrStretchTurn sr_stretch_sound_turn(const SrStretchSound* sound);
/// The next samples; fewer than `count` only at the end, or if the recording can no longer be read.
size_t sr_stretch_sound_read(SrStretchSound* sound, float* samples, size_t count);

/**
   Where a turn is.

   @param turn  From sr_stretch_sound_turn().
   @param at_s  Since the start, s.
   @param order Its stretch and speed.
   @param bpm   Pulses a minute of what is written, at full speed, and the length of one in whole
                notes.
*/
SrStretchPlace sr_stretch_turn_place(const SrStretchTurn* turn, double at_s,
                                     const SrStretchOrder* order, double bpm, double pulse);

#endif // SR_WINDOW_STRETCH_SOUND_H
