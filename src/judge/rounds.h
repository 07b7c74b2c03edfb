// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file rounds.h
   From aligned sounds to rounds of note verdicts, before any rhythm is judged.
*/

#ifndef SR_JUDGE_ROUNDS_H
#define SR_JUDGE_ROUNDS_H

#include "align.h"

/// What the files of this room share about a take.
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

/// The playing that is not over yet.
typedef struct {
  size_t rounds_before; ///< Rounds that are over
  size_t reached;       ///< Notes that it has got to
  double start_s;       ///< When it began; NAN if it has not
} SrGoingOn;

/**
   Gather rounds.

   @param take     The take.
   @param aligned  Roles of its sounds.
   @param going_on NULL for a take that is over; else the last playing becomes a round as far as
                   it has got, however short, and this receives where it stands.
   @param assessment Receives rounds with notes, extra sounds and slips.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_rounds_gather(const SrTake* take, const SrAlignedSound* aligned, SrGoingOn* going_on,
                          SrAssessment* assessment);

/// Whether a written note repeats the pitch before it.
bool sr_note_repeats(const SrPhrase* phrase, size_t note);
/// The verdict on a note that did not come.
SrNoteVerdict sr_note_missed(const SrPhrase* phrase, size_t note);

/// Add a slip to a round; false without memory.
bool sr_round_add_slip(SrRound* round, SrSlip slip);

#endif // SR_JUDGE_ROUNDS_H
