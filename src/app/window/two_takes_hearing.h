// SPDX-License-Identifier: GPL-3.0-or-later

// Bars of two takes to be heard: of one, or one after the other. While the sitting listens it plays
// them, so that it does not judge them; otherwise they have the loudspeaker to themselves.

#ifndef SR_WINDOW_TWO_TAKES_HEARING_H
#define SR_WINDOW_TWO_TAKES_HEARING_H

#include "compared_take.h"
#include "one_sitting.h"

#include <steadyreed/in_turn.h>

#include <gio/gio.h>

typedef enum { SR_HEARING_FIRST, SR_HEARING_SECOND, SR_HEARING_BOTH } SrHearing;

/// What is to be heard.
typedef struct {
  SrHearing which;
  SrComparedTake* takes[2];
  size_t bar;      ///< An index of sr_phrase_bar(); beyond the last for all bars
  bool same_tempo; ///< The faster take is slowed down to the tempo of the other
} SrTwoTakesHearing;

/// It is over, or cannot be: then `trouble` says why. On the main thread.
typedef void (*SrHearingOver)(void* context, const char* trouble);

/**
   Prepare it on another thread and play it.

   @param sitting Has the sound of its rounds, and plays if it listens.
   @param stop    Cancel it to stop what has the loudspeaker to itself; what the sitting plays is
                  stopped by a command to it.
   @param over    Called once, if this returns true; for what the sitting plays, once it begins.
   @param context Kept until then by whoever calls.
   @return False if it cannot be, with the reason.
*/
bool sr_two_takes_hear(SrSitting* sitting, const SrTwoTakesHearing* hearing, GCancellable* stop,
                       SrHearingOver over, void* context, SrError* error);

#endif // SR_WINDOW_TWO_TAKES_HEARING_H
