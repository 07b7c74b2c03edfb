// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_DOUBTFUL_H
#define SR_TRANSCRIBE_DOUBTFUL_H

#include "quantise.h"

/**
   Which of the long graces may as well be notes.

   @param doubtful Receives, for each note played, whether it was taken for a grace of the next one
                   and is nearly as likely a note.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_doubtful_find(const SrPlayedNotes* played, const SrGrid* grid, bool* doubtful);

#endif // SR_TRANSCRIBE_DOUBTFUL_H
