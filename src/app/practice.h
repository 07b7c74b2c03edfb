// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file practice.h
   One sitting of practice: the stream, the click, the ear, the recording and the screen, until it
   is over.
*/

#ifndef SR_APP_PRACTICE_H
#define SR_APP_PRACTICE_H

#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/stream.h>

#include <stdbool.h>

/// What becomes of the recording.
typedef enum {
  SR_KEEP_ROUNDS,  ///< The rounds and two seconds about them
  SR_KEEP_ALL,     ///< All of it
  SR_KEEP_NOTHING, ///< Nothing is ever written
} SrKeeping;

/// How to practise.
typedef struct {
  SrStreamSettings stream; ///< `with_output` is set for it
  SrJudgeSettings judge;   ///< Its target is the tempo of the click, NAN for the phrase's own
  bool silent;             ///< No click, no output at all
  bool click_bars;         ///< Click on bars only
  double click_volume;     ///< 0 to 1
  unsigned on_bars;        ///< See SrClickPlan
  unsigned off_bars;
  unsigned rounds;  ///< So many, then it ends; 0 for no end
  double silence_s; ///< So long a silence ends it
  int signal_midi;  ///< See SrLiveSettings
  SrKeeping keeping;
  bool json;
  bool all_notes;
} SrPracticeRequest;

/**
   Practise until it ends: by rounds, silence, a key, a signal of the hand or the system, or
   trouble.

   @return An exit status.
*/
int sr_practise(const SrPracticeRequest* request, const SrPhrase* phrase);

#endif // SR_APP_PRACTICE_H
