// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file two_takes.h
   Two takes of a phrase side by side: their figures, and which of them differ by more than chance.

   A difference is only told if it is more than the notes of one take differ among themselves, and
   more than its rounds do:

   - shares (notes right, clean cuts, air heard) by Fisher's exact test (1935), neighbouring notes
     that are lost counting as one,
   - tempo, by the intervals between onsets against their written lengths; spread, by the sizes of
     the offsets; and ahead or behind, by the offsets from the click: each by the test of Mann and
     Whitney (1947) over the notes. Offsets that last from one note to the next are allowed for,
   - each also with its rounds as clusters: an analysis of variance with rounds within takes, held
     against Student's t (Donner and Klar 2000, from memory). The larger of the two chances holds.

   Of all figures together, aimed at is that at most SR_TWO_BY_CHANCE of pairs of takes that were
   played alike have any told (Holm 1979). The tests measure it, with tempi that wander from round
   to round and notes lost in a row.

   What it cannot tell: with one round in each take nothing is known of how rounds differ, so a
   tempo that always wanders from round to round is told as a difference: it is one of those two
   rounds. With two rounds each, something that befalls whole rounds may by chance befall both of
   one take and none of the other (all cuts long in 3 rounds of 10: told of 7 % of 1000 pairs played
   alike). It is said of these two takes, not of what the player can do. Figures that are shown
   alike, in whole numbers, are never told as different.
*/

#ifndef STEADYREED_TWO_TAKES_H
#define STEADYREED_TWO_TAKES_H

#include <steadyreed/declarations.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Chance of telling anything of two takes that were played alike; see above for what that leaves
/// out.
#define SR_TWO_BY_CHANCE 0.05

/// Figures of a take.
typedef enum {
  SR_TWO_TEMPO,      ///< Mean over the rounds, pulses a minute
  SR_TWO_CLEAN_BPM,  ///< Fastest round without a fault, pulses a minute; not tested
  SR_TWO_NOTES,      ///< Percent of the notes asked for
  SR_TWO_CUTS,       ///< Percent of the cuts asked for that were clean
  SR_TWO_SPREAD,     ///< Mean over the rounds, ms; see SrPulse
  SR_TWO_OFFSET,     ///< Ahead of the click (negative) or behind, mean over the rounds, ms
  SR_TWO_AIR,        ///< Percent of the places for air at which it was heard
  SR_TWO_SCORE_CUTS, ///< Scores are means over the rounds; not tested
  SR_TWO_SCORE_EVENNESS,
  SR_TWO_SCORE_AIR,
  SR_TWO_FIGURES
} SrTwoFigure;

/// One take: its judged rounds, of one phrase.
typedef struct {
  const SrRound* rounds;
  size_t count; ///< At least 1
} SrPlayedRounds;

/// A figure in both takes.
typedef struct {
  double value[2];  ///< NAN if it is not known
  unsigned some[2]; ///< For a share: how many,
  unsigned of[2];   ///< of how many; 0 for other figures
  double chance;    ///< That it differs as much by chance; NAN if that was not tested
  bool told;        ///< It differs by more than chance
} SrTwoFound;

/// Two takes compared.
typedef struct {
  size_t rounds[2];
  size_t best[2]; ///< Round to show of each: see sr_best_round()
  SrTwoFound figures[SR_TWO_FIGURES];
} SrTwoTakes;

/// Index of the round of which the mean score times the share of notes right is highest; of equal
/// ones the fastest, then the first.
size_t sr_best_round(SrPlayedRounds played);

/**
   Compare two takes.

   @param phrase What both were to play.
   @param played The first and the second take, judged by this phrase.
   @param two    Receives the comparison.
   @return SR_OK; SR_BAD_ARGUMENT (no round, or a round of another phrase) or SR_NO_MEMORY.
*/
SrStatus sr_two_takes_compare(const SrPhrase* phrase, const SrPlayedRounds played[2],
                              SrTwoTakes* two, SrError* error);

/**
   Where a bar lies in a recording.

   @param bar    Index of sr_phrase_bar().
   @param from_s Receives when it begins, seconds from the start of the take: when the note on its
                 first beat came, or, if there is none or it was not heard, when that beat was due.
   @param to_s   Receives when the next one begins, or, of the last bar, when its last note ends.
   @return False if too little of the round was heard to tell; both are then untouched.
*/
bool sr_round_bar_times(const SrPhrase* phrase, const SrRound* round, size_t bar, double* from_s,
                        double* to_s);

SR_END_DECLARATIONS

#endif // STEADYREED_TWO_TAKES_H
