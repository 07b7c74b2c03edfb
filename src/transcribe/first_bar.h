// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_FIRST_BAR_H
#define SR_TRANSCRIBE_FIRST_BAR_H

#include "bars.h"

/**
   How sure it is that the first bar begins where it was laid.

   @param grid As sr_bars_find() left it.
   @param sure Receives it, 0 to 1.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_first_bar_sure(const SrPlayedNotes* played, const SrGrid* grid, const SrBars* bars,
                           double* sure);

#endif // SR_TRANSCRIBE_FIRST_BAR_H
