// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_JUDGING_H
#define SR_APP_JUDGING_H

#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

/// Most remarks about one recording.
#define SR_MOST_REMARKS 8

/// A take that was read, heard and judged, or could not be.
typedef struct {
  SrAssessment* assessment; ///< NULL if it could not be judged
  SrError error;            ///< Why, if `assessment` is NULL
  SrPhrase* phrase;         ///< As it was played, if in another key than it was given; else NULL
  char* remarks[SR_MOST_REMARKS];
  size_t remark_count;
} SrJudgedTake;

/**
   Read, hear and judge one take. One that does not fit the phrase is judged in the key that it
   seems to be played in as well; the better of the two readings is kept, and a remark tells which.

   @param phrase   What was to be played.
   @param path     The recording; "-" for standard input.
   @param settings As for sr_judge_take().
   @param find_click Whether to look for a metronome's click in the recording, if it does not tell
                     of one itself; one that is found is taken out and is the beat.
   @param take     Receives what came out; give it back to sr_judged_take_clear().
   @return SR_OK, or the status of `take->error`.
*/
SrStatus sr_judged_take_make(const SrPhrase* phrase, const char* path,
                             const SrJudgeSettings* settings, bool find_click, SrJudgedTake* take);

/// Free what a take holds.
void sr_judged_take_clear(SrJudgedTake* take);

#endif // SR_APP_JUDGING_H
