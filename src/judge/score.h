// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file score.h
   Scores 0 to 100.
*/

#ifndef SR_JUDGE_SCORE_H
#define SR_JUDGE_SCORE_H

#include "rounds.h"

/// Fill the scores of a round, with what was asked and judged; judge.h has the formulas.
void sr_score_round(const SrTake* take, SrRound* round);

/// The phrase's shortest step between notes that occurs at least a tenth as often as all, in
/// pulses.
double sr_score_step(const SrPhrase* phrase);

#endif // SR_JUDGE_SCORE_H
