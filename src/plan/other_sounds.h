// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file other_sounds.h
   Buttons for what sounds with the melody: the lower notes of chords, then cuts and strikes. They
   are chosen when the melody has its buttons, and never move it.
*/

#ifndef SR_PLAN_OTHER_SOUNDS_H
#define SR_PLAN_OTHER_SOUNDS_H

#include <steadyreed/plan.h>

/**
   Whether a pinned cut can be played on a note held in some way, whatever precedes it.

   @param pin A pin of kind SR_PIN_CUT.
*/
bool sr_other_sounds_can_cut(const SrInstrument* instrument, const SrPhraseNote* written,
                             const SrPin* pin, size_t button, SrDirection direction,
                             SrFinger finger);
/**
   Give the lower notes of chords their buttons: a free finger of either hand for each, the other
   hand first. Those that no free finger reaches get -1.

   @param notes The melody's buttons, one entry for each note of the phrase; modified.
*/
void sr_other_sounds_chords(const SrPhrase* phrase, const SrInstrument* instrument,
                            const SrPlanSettings* settings, SrPlannedNote* notes);
/**
   Give cuts and strikes their buttons. A cut needs a strong, free finger; which note it is matters
   little. Notes of one pitch on one button are cut with the same button wherever it is free.

   @param notes As above, with the chords.
   @return SR_OK; SR_NOT_FOUND if a pinned cut cannot be played (the message says where and why);
           SR_NO_MEMORY.
*/
SrStatus sr_other_sounds_cuts(const SrPhrase* phrase, const SrInstrument* instrument,
                              const SrPlanSettings* settings, SrPlannedNote* notes, SrError* error);

#endif // SR_PLAN_OTHER_SOUNDS_H
