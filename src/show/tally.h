// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_SHOW_TALLY_H
#define SR_SHOW_TALLY_H

#include <steadyreed/judge.h>

#include <stdbool.h>
#include <stddef.h>

/// Number of verdicts in SrCutVerdict.
#define SR_CUT_VERDICTS 5
/// Number of kinds in SrSlipKind.
#define SR_SLIP_KINDS 7

/// Word for a cut verdict, as in the JSON.
const char* sr_cut_word(SrCutVerdict verdict);
/// Word for an ornament, as in the JSON; NULL for none.
const char* sr_ornament_word(SrOrnament ornament);

/// Whether an audible release of air lies under a note or after it.
bool sr_is_air_heard(const SrRound* round, size_t note);

/// Whether the microphone lost a note of a round.
bool sr_is_incomplete(const SrRound* round);

/// Counts of outcomes over one or more rounds.
typedef struct {
  size_t notes;
  size_t played;
  size_t missed;
  size_t left_out; ///< Missed notes that were left out together with their time
  size_t wrong;
  size_t unheard;
  size_t insertions;
  size_t cuts[SR_CUT_VERDICTS];
  size_t strikes;       ///< Strikes judged, not counting stray ones
  size_t cuts_asked;    ///< Written cuts and strikes, except those the recording lost
  size_t cuts_judged;   ///< Of these, those whose note was played
  size_t joined;        ///< Repeated notes without a written cut that were joined
  size_t air_asked;     ///< Notes played that ask for air
  size_t air_heard;     ///< Of these, those with an audible release
  size_t air_elsewhere; ///< Audible releases that were not asked for
  size_t slips[SR_SLIP_KINDS];
  size_t written[SR_ORNAMENTS]; ///< Ornaments of each kind on notes that were played
  size_t heard[SR_ORNAMENTS];   ///< Of the ornaments not judged, those heard whole
  size_t in_part[SR_ORNAMENTS]; ///< and those heard in part
} SrTally;

void sr_tally_add(SrTally* tally, const SrRound* round);

/**
   The first advice of the round with the lowest mean score.

   @param number Receives the number of that round, from 1.
   @return The line, or NULL if no round has advice.
*/
const char* sr_worst_advice(const SrAssessment* assessment, size_t* number);

#endif // SR_SHOW_TALLY_H
