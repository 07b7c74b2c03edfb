// SPDX-License-Identifier: GPL-3.0-or-later

// The ready note: held alone for a while, then released, with silence after it. See session.h for
// what tells it from other notes.

#ifndef SR_SESSION_READY_NOTE_H
#define SR_SESSION_READY_NOTE_H

#include <steadyreed/pitch.h>

/// What was heard of it. Fill with sr_ready_note().
typedef struct {
  int midi; ///< In any octave
  double reference_hz;
  double most_s;    ///< Held as long as this it is another signal
  double silence_s; ///< After it
  double onset_s;   ///< Of the note that sounds, or sounded last; NAN for none
  double fits_s;    ///< When it last sounded
  double last_s;    ///< When anything as loud last sounded
  double octaves;   ///< Its pitch, octaves over C-1; the mean so far
  double level_db;  ///< Its highest level
  unsigned count;   ///< Points in that mean
} SrReadyNote;

/**
   Begin to look for it.

   @param reference_hz A4 of the instrument.
   @param most_s       A note held as long as this, s, is none.
   @param rest_s       Rest that is written after the first note of the phrase, s; 0 for none.
*/
SrReadyNote sr_ready_note(int midi, double reference_hz, double most_s, double rest_s);

/// Push a point of the pitch track, in order. Returns the onset of the ready note, s, once it was
/// given and from then on until something else sounds; NAN otherwise.
double sr_ready_note_push(SrReadyNote* ready, const SrPitchPoint* point);

#endif // SR_SESSION_READY_NOTE_H
