// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file planned_note.h
   What is shown of one planned note beside its button: octave, fingers, and the lower notes of a
   chord.
*/

#ifndef STEADYREED_PLANNED_NOTE_H
#define STEADYREED_PLANNED_NOTE_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/phrase.h>
#include <steadyreed/plan.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// A lower note of a chord as it is played.
typedef struct {
  int midi;        ///< 0 to 127
  long button;     ///< Index of the instrument's button; -1 if no finger reaches one
  SrFinger finger; ///< The finger that plays it
} SrFurtherSound;

/// The octave of a note as it is spelt, 4 from middle C to the B above it: C♭5 sounds as B4.
int sr_planned_octave(const SrPhraseNote* note);
/// The finger that plays a note.
SrFinger sr_planned_finger(const SrInstrument* instrument, const SrPlannedNote* note);
/// The finger that plays its cut or strike, if it has a button for one (`cut_button` 0 or more).
SrFinger sr_planned_cut_finger(const SrInstrument* instrument, const SrPlannedNote* note);
/**
   The lower notes of a chord.

   @param sounds Receives at most SR_CHORD_SIZE of them.
   @return Their number, 0 to SR_CHORD_SIZE.
*/
size_t sr_planned_further(const SrInstrument* instrument, const SrPlannedNote* note,
                          SrFurtherSound sounds[SR_CHORD_SIZE]);
/// Whether two notes are under the same buttons and fingers in the same direction.
bool sr_planned_same(const SrInstrument* instrument, const SrPlannedNote* one,
                     const SrPlannedNote* other);

SR_END_DECLARATIONS

#endif // STEADYREED_PLANNED_NOTE_H
