// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file adviser.h
   The remarks on a round as they are gathered, and the words they share.
*/

#ifndef SR_JUDGE_ADVISER_H
#define SR_JUDGE_ADVISER_H

#include "rounds.h"

/// Most candidates kept before the worst are chosen.
#define MOST_CANDIDATES 16u

/// Room for the name of a note and where it is played.
#define NAME_SIZE 64u

#define LINE_SIZE 256u

/// One possible remark; `weight` in notes gone wrong.
typedef struct {
  double weight;
  size_t note; ///< The note it is about; the round's `note_count` if it is the whole round
  char text[LINE_SIZE];
} SrAdviceCandidate;

/// The remarks on one round.
typedef struct {
  const SrTake* take;
  const SrRound* round;
  SrAdviceCandidate candidates[MOST_CANDIDATES];
  size_t count;
  size_t note;    ///< Last named by sr_adviser_place(), for the remark that is being made
  char place[48]; ///< Result of sr_adviser_place()
  char again[32]; ///< Result of sr_adviser_again()
} SrAdviser;

// advice.c

/// Keep a remark of some weight; nothing if it weighs nothing.
void sr_adviser_say(SrAdviser* a, double weight, const char* format, ...) SR_PRINTF(3, 4);
/// The place of the note that the next remark is about, such as "bar 2", or "bar 2, second time" if
/// only that went wrong; valid until the next call.
const char* sr_adviser_place(SrAdviser* a, size_t note);
/// The place of a stretch from that note to a bar: "bar 2 to 4".
const char* sr_adviser_place_to(SrAdviser* a, size_t note, int last);
/// "the second A", counted among the notes of that name in this playing of the bar.
void sr_adviser_name_note(const SrAdviser* a, size_t index, char* text, size_t size);
/// The same without where it is played.
void sr_adviser_name_plainly(const SrAdviser* a, size_t index, char* text, size_t size);
/// " (one of 3)", or nothing if there is only one.
const char* sr_adviser_again(SrAdviser* a, size_t count);

// advice_cuts.c

/// Written cuts and strikes, and repeated notes that ran together.
void sr_advise_on_cuts(SrAdviser* a);

// advice_notes.c

/// Unwritten cuts and notes.
void sr_advise_on_more(SrAdviser* a);
/// Wrong and missed notes.
void sr_advise_on_notes(SrAdviser* a);

// advice_flow.c

/// The slips: waits, stretches at another tempo, restarts, stops and what was left out.
void sr_advise_on_flow(SrAdviser* a);

// advice_tempo.c

/// The note with the largest offset, if that or the spread is well above just noticeable.
void sr_advise_on_rhythm(SrAdviser* a);
/// A tempo that changed during the round.
void sr_advise_on_tempo(SrAdviser* a);
/// A player who left the click: every other remark on the beat is then about the player's own
/// tempo. Or one who was ahead of it or behind it all along.
void sr_advise_on_click(SrAdviser* a);
/// The silent stretch after which the click was missed most.
void sr_advise_on_alone(SrAdviser* a);

// advice_air.c

/// The air releases that were heard.
void sr_advise_on_air(SrAdviser* a);

#endif // SR_JUDGE_ADVISER_H
