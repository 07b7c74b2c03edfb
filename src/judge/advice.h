// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file advice.h
   What to change next, in a player's words.
*/

#ifndef SR_JUDGE_ADVICE_H
#define SR_JUDGE_ADVICE_H

#include "rounds.h"

/**
   Write a round's lines of advice, worst first, at most five; one line of praise and a next step if
   nothing went wrong. Call it last: it reads the scores.

   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_advise(const SrTake* take, SrRound* round);

#endif // SR_JUDGE_ADVICE_H
