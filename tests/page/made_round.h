// SPDX-License-Identifier: GPL-3.0-or-later

// Assessments made by hand, to draw pictures and pages of.

#ifndef MADE_ROUND_H
#define MADE_ROUND_H

#include <steadyreed/judge.h>

/// Outcomes that can be put on a note.
typedef enum {
  OUTCOME_CLEAN,
  OUTCOME_MISSED,
  OUTCOME_WRONG,
  OUTCOME_UNHEARD,
  OUTCOME_LONG,
  OUTCOME_JOINED,
  OUTCOME_ABSENT,
  OUTCOME_STRAY,
  OUTCOME_LATE,
  OUTCOME_EXTRA,
  OUTCOME_AIR,
  OUTCOME_COUNT,
} Outcome;

/// Most notes, rounds and so on of one that is made.
#define MADE_MOST_NOTES 256
#define MADE_MOST_ROUNDS 24
#define MADE_MOST_OTHERS 64

/// An assessment with the phrase it is of. Must not be moved.
typedef struct {
  SrPhrase* phrase;
  SrAssessment assessment;
  SrRound rounds[MADE_MOST_ROUNDS];
  SrNoteVerdict notes[MADE_MOST_ROUNDS][MADE_MOST_NOTES];
  SrInsertion insertions[MADE_MOST_ROUNDS][MADE_MOST_OTHERS];
  SrAirRelease air[MADE_MOST_ROUNDS][MADE_MOST_OTHERS];
  SrSlip slips[MADE_MOST_ROUNDS][MADE_MOST_OTHERS];
  char title[512];
  char path[64];
  char advice[512];
  char* advices[1];
} MadeRound;

/// Four bars of 6/8 with cuts.
extern const char made_jig[];
/// Four bars in which a few notes are much shorter than the others.
extern const char made_runs[];
/// Sixteen bars, repeated.
extern const char made_tune[];

/// Make one of an ABC text, all of it clean, with advice. Ends the test with cmocka on error.
void made_round_make(MadeRound* made, const char* abc, size_t rounds);
/// Put an outcome on a note of a round.
void made_round_put(MadeRound* made, size_t round, size_t note, Outcome outcome);
/// Add a break in the flow at a note.
void made_round_slip(MadeRound* made, size_t round, SrSlipKind kind, size_t note);
/// Put something on every note of a round, each outcome in turn, and a break of each kind.
void made_round_spoil(MadeRound* made, size_t round);
void made_round_clear(MadeRound* made);

#endif // MADE_ROUND_H
