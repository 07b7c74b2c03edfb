// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file rounds.h
   From aligned sounds to rounds of note verdicts, before the rhythm is judged.
*/

#ifndef SR_JUDGE_ROUNDS_H
#define SR_JUDGE_ROUNDS_H

#include "align.h"

/// What the judging modules share about a take.
typedef struct {
  const SrPhrase* phrase;
  const SrEvent* sounds; ///< By onset
  size_t sound_count;
  const SrEvent* unheard; ///< By onset
  size_t unheard_count;
  const SrAirHeard* air;
  size_t air_count;
  SrAirCarriage air_carriage;
  const SrJudgeSettings* settings;
} SrTake;

/// State of a round in progress.
typedef struct {
  size_t rounds_before; ///< Rounds that are over
  size_t reached;       ///< Number of notes reached
  double start_s;       ///< When it began; NAN if it has not
} SrGoingOn;

/**
   Gather rounds.

   @param take       The take.
   @param aligned    Roles of its sounds.
   @param going_on   NULL for a take that is over; otherwise the unfinished round is gathered too,
                     however short, and this receives its state.
   @param assessment Receives rounds with notes, insertions and slips.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_rounds_gather(const SrTake* take, const SrAlignedSound* aligned, SrGoingOn* going_on,
                          SrAssessment* assessment);

/// Whether a written note repeats the pitch before it.
bool sr_note_repeats(const SrPhrase* phrase, size_t note);
/// The verdict on a missed note.
SrNoteVerdict sr_note_missed(const SrPhrase* phrase, size_t note);

/// Add a slip to a round; false if out of memory.
bool sr_round_add_slip(SrRound* round, SrSlip slip);

#endif // SR_JUDGE_ROUNDS_H
