// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file ladder_start.h
   Where a tempo ladder begins, and which bars it has; the same in a terminal and in the window.
*/

#ifndef SR_APP_LADDER_START_H
#define SR_APP_LADDER_START_H

#include <steadyreed/ladder.h>
#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

/// Bars of a tune, as in SrPhraseChoice.
typedef struct {
  int first;
  int last;
} SrBarSpan;

/// All bars of a phrase, each of which a ladder has once.
SrBarSpan sr_ladder_all_bars(const SrPhrase* phrase);
/// The bars of a rung; both 0 if it is the whole phrase.
SrBarSpan sr_ladder_rung_bars(const SrPhrase* phrase, const SrLadderRung* rung);

/// The bars that a ladder begins with, as sr_ladder_rung_bars(); both 0 without memory too.
SrBarSpan sr_ladder_first_bars(const SrPhrase* phrase);

/**
   The tempos of a ladder. It begins with `from_bpm`; without that, with the tempo of the last clean
   round in the history; without one, with 80 % of its top, or with the tempo last asked for, if
   that is slower. Its bottom is two thirds of its top, or
   its beginning if that is slower. Nothing is said of a history that cannot be read.

   @param phrases  The phrase; and what the history knows apart: the same with each bar once, and
                   the bars that the ladder begins with, which alone are played until they stick.
                   NULL is none. The first one counts that has a clean round.
   @param count    Number of phrases.
   @param top_bpm  The tempo wanted, pulses a minute.
   @param from_bpm Pulses a minute; NAN if none was asked for.
*/
SrLadderTempo sr_ladder_start(const SrPhrase* const* phrases, size_t count, double top_bpm,
                              double from_bpm);

/// The top of a drill, as a share of its own tempo (common practice, no source).
#define SR_DRILL_TOP_SHARE 1.5

/**
   The tempos of a drill that is practised from day to day, by the same rule: it begins with the
   tempo of its last clean round in the history; without one, with its own, or with the tempo last
   asked for, if that is slower. Its top is
   SR_DRILL_TOP_SHARE times its own tempo, its bottom two thirds of that, or its beginning if that
   is slower.

   @param phrase  The drill, as it is practised: the history knows it by its notes.
   @param own_bpm Its own tempo, pulses a minute.
   @param known   Receives whether there is a clean round.
*/
SrLadderTempo sr_drill_start(const SrPhrase* phrase, double own_bpm, bool* known);

#endif // SR_APP_LADDER_START_H
