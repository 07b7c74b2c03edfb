// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file found_click.h
   A metronome's click in a recording made elsewhere: removed, and taken as the beat if the take was
   played to it.
*/

#ifndef SR_SESSION_FOUND_CLICK_H
#define SR_SESSION_FOUND_CLICK_H

#include <steadyreed/click.h>
#include <steadyreed/judged_take.h>
#include <steadyreed/listen.h>

/// A metronome's click found in a recording.
typedef struct {
  SrClickFinder* finder;   ///< NULL if none was looked for
  SrClickFound found;      ///< Its count is 0 if there is none
  SrClickRemover* remover; ///< NULL without a click
} SrRecordedClick;

/// Free what it holds.
void sr_found_click_clear(SrRecordedClick* click);
/**
   After the first pass over the recording: finish the search for a click, and create its remover if
   there is one.

   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_found_click_settle(SrRecordedClick* click, double rate_hz, SrError* error);
/**
   Whether the clicks found are sounds of the notes.

   @param heard     Its events are looked at.
   @param are_notes Receives it.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_found_click_ask_notes(const SrListened* heard, const SrClickFound* click,
                                  double rate_hz, bool* are_notes);
/**
   Judge what was heard once more, against the click, if the take was played to it.

   @param listened The take, heard without the click.
   @param asked    The settings so far.
   @param click    Its count becomes 0 if what was found are the notes themselves.
   @param take     Its assessment is replaced, with a remark.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_found_click_judge(const SrPhrase* phrase, const SrListened* listened,
                              const SrTakeFacts* facts, const SrJudgeSettings* asked,
                              SrClickFound* click, SrJudgedTake* take);

#endif // SR_SESSION_FOUND_CLICK_H
