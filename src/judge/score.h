// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file score.h
   Scores 0 to 100.
*/

#ifndef SR_JUDGE_SCORE_H
#define SR_JUDGE_SCORE_H

#include "rounds.h"

/// Fill a round's scores and the amounts asked and judged; judge.h has the formulas.
void sr_score_round(const SrTake* take, SrRound* round);

/// The shortest note length in pulses that at least a tenth of the phrase's notes have.
double sr_score_step(const SrPhrase* phrase);

#endif // SR_JUDGE_SCORE_H
