// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file rhythm.h
   The beat of one round: pulse, drift, lilt, offsets, spread.
*/

#ifndef SR_JUDGE_RHYTHM_H
#define SR_JUDGE_RHYTHM_H

#include "rounds.h"

/**
   Fit a round's onsets to the phrase; fill its `pulse` and the due times and offsets of its notes;
   add its hesitations to the slips.

   The model, by least squares over the notes that have an onset:

     onset = start + seconds * x + bend * x^2 + lilt[place] + waits before it
             + turns of the tempo

   with x the note's place in pulses. The drift (bend) is fitted from 8 onsets on, and a lilt for
   each place in the pulse, except the first, that occurs twice. A wait is a step longer than due by
   0.15 s and by half of the step or the pulse; in a longer round a shorter one counts too if it
   stands out from the scatter of the steps. A turn is another tempo from a place on, jump * (x -
   x0), or between two places, or a change of the drift, bend * (x - x0)^2; the Bayesian information
   criterion decides how many there are. A temporary change of tempo is added to the slips, as
   hesitations are, and does not change the round's main tempo. At most one onset in ten, and only
   beyond four robust deviations, is left out of the fit.

   @param over Whether the round is over; turns are looked for only then.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_rhythm_fit(const SrTake* take, bool over, SrRound* round);

/**
   Ordinary least squares by the normal equations with pivoting.

   @param rows     Number of observations.
   @param columns  Number of parameters, at most 40.
   @param matrix   `rows` times `columns`, row by row.
   @param values   `rows` observations.
   @param solution Receives `columns` parameters; those that cannot be determined are 0.
   @return Number of parameters that could be determined.
*/
size_t sr_least_squares(size_t rows, size_t columns, const double* matrix, const double* values,
                        double* solution);

#endif // SR_JUDGE_RHYTHM_H
