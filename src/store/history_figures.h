// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_STORE_HISTORY_FIGURES_H
#define SR_STORE_HISTORY_FIGURES_H

#include <steadyreed/history.h>

#include <stddef.h>

/**
   What happened in each bar of a round, in order of their first notes; `faults` is not summed up.

   @param count Receives how many.
   @return A list to free(); NULL without memory.
*/
SrBarFigures* sr_round_bars(const SrRound* round, size_t* count);

#endif // SR_STORE_HISTORY_FIGURES_H
