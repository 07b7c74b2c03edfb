// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file score.h
   Scores 0 to 100.
*/

#ifndef SR_JUDGE_SCORE_H
#define SR_JUDGE_SCORE_H

#include "rounds.h"

/**
   Score a round.

   cuts     = 100 * clean cuts / written cuts of notes that were played.
   evenness = 100 * (1 - (unevenness - noticeable) / (quarter - noticeable)), kept within
              0 and 100, where `unevenness` is the spread or, if that is more, the root mean
              square of all offsets, `noticeable` is the just noticeable displacement for
              the round's shortest common step and `quarter` a quarter of that step:
              so far off, a note no longer has a place of its own (common practice,
              no source). From four onsets on.
   air      = 100 * (1 - sum over audible releases of cost / places), where `places` are the
              releases heard and, of the notes that ask for air and were played, those
              where none was; `cost` is a third for one that is just over what the note
              hides, rising to 1 for one that is 12 dB over it or more. So 100 when nothing was
              audible. Not asked if the phrase asks for no air and none was found.
*/
void sr_score_round(const SrTake* take, SrRound* round);

/// The phrase's shortest step between notes that occurs at least a tenth as often as all, in
/// pulses.
double sr_score_step(const SrPhrase* phrase);

#endif // SR_JUDGE_SCORE_H
