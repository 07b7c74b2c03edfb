// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transcript_score.h
   A score that was heard without a phrase, against the truth.
*/

#ifndef TEST_TRANSCRIPT_SCORE_H
#define TEST_TRANSCRIPT_SCORE_H

#include "take_maker.h"

#include <steadyreed/transcribe.h>

#include <stdbool.h>
#include <stddef.h>

/// Figures of many takes.
typedef struct {
  size_t notes; ///< Played, and to be heard: of two that ran into one another without a cut, one
  size_t notes_right;       ///< … with their pitch, in their order
  size_t notes_inserted;    ///< Written, and not played
  size_t cuts;              ///< Notes with a cut in the phrase
  size_t cuts_right;        ///< … with that cut if it sounded, and none if it did not
  size_t cuts_inserted;     ///< Graces where none sounded
  size_t lengths;           ///< From one note to the next, of two that are whole
  size_t lengths_right;     ///< … as long as in the phrase, in quavers
  size_t places;            ///< Notes that were heard
  size_t places_right;      ///< … at their place of the bar
  size_t meters;            ///< Takes
  size_t meters_right;      ///< … with their meter, 4/4 and 2/2 being one
  size_t tempos_right;      ///< … with the length of a crotchet
  size_t tempos_sure;       ///< … of which the tempo is called sure
  size_t tempos_sure_right; ///< … and is right
  size_t first_bars;        ///< Takes with the right meter and crotchet, whose first note was heard
  size_t first_bars_right;  ///< … and whose first bar begins where it does in the phrase
  size_t first_bars_sure;   ///< … of which that is called sure
  size_t first_bars_sure_right; ///< … and is right
  size_t keys_right;            ///< … with the signature of their key
} TranscriptFigures;

/// Add one take; prints a line for each thing gone wrong if `verbose`.
void transcript_figures_add(TranscriptFigures* figures, const SrPhrase* phrase,
                            const TakePlan* plan, const Take* take, const SrScore* score,
                            bool verbose);

#endif // TEST_TRANSCRIPT_SCORE_H
