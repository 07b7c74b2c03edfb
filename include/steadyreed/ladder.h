// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file ladder.h
   The tempo ladder: which bars to play next, and how fast, from how the last rounds went.

   A step up after three clean rounds in a row, a step down after two poor ones. At the top of the
   ladder the stretch sticks, and the next is taken: two bars, the next two, the four of them
   joined, and so on, until the whole phrase sticks. A joined stretch begins two steps under the
   top. A stretch that goes poorly at the bottom is taken apart again, into the halves it was joined
   from. The numbers are common practice, no source.
*/

#ifndef STEADYREED_LADDER_H
#define STEADYREED_LADDER_H

#include <steadyreed/declarations.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Clean rounds in a row for a step up, poor ones for a step down.
#define SR_LADDER_CLEAN_ROUNDS 3u
#define SR_LADDER_POOR_ROUNDS 2u
/// Size of a step, as a share of the tempo; at least one pulse a minute.
#define SR_LADDER_STEP 0.04

/// How a round went.
typedef enum {
  SR_ROUND_CLEAN, ///< Every note right, nothing broke the flow, with the click if it is known, and
                  ///< each score that there is is 90 or more
  SR_ROUND_FAIR,
  SR_ROUND_POOR, ///< Under nine notes of ten right, a break in the flow, or a score under 70
} SrRoundGrade;

/// The grade of a round.
SrRoundGrade sr_ladder_grade(const SrRound* round);

/// Where a ladder stands, and its limits, pulses a minute.
typedef struct {
  double start_bpm; ///< Where it begins: the tempo of the last clean round, say
  double least_bpm; ///< Its bottom; NAN for two thirds of the top
  double most_bpm;  ///< Its top: the tempo wanted
} SrLadderTempo;

/// What a round changed.
typedef enum {
  SR_LADDER_SAME,   ///< Nothing
  SR_LADDER_UP,     ///< The tempo went up
  SR_LADDER_DOWN,   ///< The tempo went down
  SR_LADDER_NEXT,   ///< The next bars
  SR_LADDER_JOINED, ///< Two stretches that stick are joined
  SR_LADDER_APART,  ///< It went poorly at the bottom: only half of the bars
  SR_LADDER_DONE,   ///< The whole phrase sticks at the top; it goes on there
} SrLadderMove;

/// What to play next.
typedef struct {
  size_t first_bar; ///< An index of sr_phrase_bar()
  size_t bar_count;
  double bpm;         ///< A whole number
  unsigned clean;     ///< Clean rounds in a row so far
  SrLadderMove moved; ///< What the last round changed
} SrLadderRung;

typedef struct SrLadderImpl SrLadder;

/**
   Begin a ladder.

   @param phrase Its bars are counted in here; it need not outlive this call.
   @param tempo  10 to 400 pulses a minute each, least under most; the start is moved between them.
   @param whole  Begin with the whole phrase, not with its first bars: it is taken apart where it
                 goes poorly.
   @param ladder Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_ladder_new(const SrPhrase* phrase, const SrLadderTempo* tempo, bool whole,
                       SrLadder** ladder, SrError* error);
void sr_ladder_del(SrLadder* ladder);
/// Do not take the bars apart that are played now, as of a drill: at the bottom the tempo stays.
void sr_ladder_keep_together(SrLadder* ladder);
/// What to play now.
SrLadderRung sr_ladder_now(const SrLadder* ladder);
/// A round of that was played; what to play next.
SrLadderRung sr_ladder_round(SrLadder* ladder, SrRoundGrade grade);

/// Size of what sr_ladder_words() writes, bytes.
#define SR_LADDER_WORDS_SIZE 128
/**
   What to play next in a sentence that can be read or spoken: "Up a step, to 84." or "Now bars 3 to
   4, at 76."

   @param phrase As for sr_ladder_new().
   @return `words`.
*/
const char* sr_ladder_words(const SrPhrase* phrase, const SrLadderRung* rung,
                            char words[SR_LADDER_WORDS_SIZE]);

SR_END_DECLARATIONS

#endif // STEADYREED_LADDER_H
