// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file silent_click.h
   How well the beat was kept while the click was silent.
*/

#ifndef SR_JUDGE_SILENT_CLICK_H
#define SR_JUDGE_SILENT_CLICK_H

#include "rounds.h"

/// Fill `alone` of a round whose rhythm is fitted. Returns SR_OK or SR_NO_MEMORY.
SrStatus sr_alone_gather(const SrTake* take, SrRound* round);

#endif // SR_JUDGE_SILENT_CLICK_H
