// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file judged_take.h
   A recording, read, heard and judged as a whole.
*/

#ifndef STEADYREED_JUDGED_TAKE_H
#define STEADYREED_JUDGED_TAKE_H

#include <steadyreed/declarations.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Most remarks about one recording.
#define SR_MOST_REMARKS 8

/// A take after reading, hearing and judging, or the reason why that failed.
typedef struct {
  SrAssessment* assessment; ///< NULL if it could not be judged
  SrError error;            ///< Why, if `assessment` is NULL
  SrPhrase* phrase; ///< In the key played, if that differs from the key given; otherwise NULL
  char* remarks[SR_MOST_REMARKS];
  size_t remark_count;
} SrJudgedTake;

/**
   Read, hear and judge one take. If it does not fit the phrase, it is also judged in the key it
   seems to be played in; the better result is kept, with a remark.

   @param phrase   What was to be played.
   @param path     The recording; "-" for standard input.
   @param settings As for sr_judge_take().
   @param find_click Look for a metronome's click if the recording's note has none; a click found is
                     removed and serves as the beat.
   @param take     Receives the result; pass it to sr_judged_take_clear().
   @return SR_OK, or the status of `take->error`.
*/
SrStatus sr_judged_take_make(const SrPhrase* phrase, const char* path,
                             const SrJudgeSettings* settings, bool find_click, SrJudgedTake* take);

/// Free what a take holds.
void sr_judged_take_clear(SrJudgedTake* take);

SR_END_DECLARATIONS

#endif // STEADYREED_JUDGED_TAKE_H
