// SPDX-License-Identifier: GPL-3.0-or-later

// What the player asks to hear again: a round, or some bars of it or of the phrase, slowly.

#ifndef SR_WINDOW_PLAYBACK_H
#define SR_WINDOW_PLAYBACK_H

#include "one_sitting.h"
#include "verdict_view.h"

/// What is to be heard.
typedef enum {
  SR_PLAYBACK_ROUND,      ///< The round
  SR_PLAYBACK_ROUND_BARS, ///< Some bars of it, slowly
  SR_PLAYBACK_BARS,       ///< The same bars as they are written, slowly
} SrPlaybackKind;

/// Speed of what is played slowly.
#define SR_PLAYBACK_SPEED 0.5

/**
   Prepare it on another thread, and have the sitting play it.

   @param held  The round; not needed for bars as they are written.
   @param bars  Which bars; all if its count is 0.
   @param error Says why not.
   @return Whether it will be played.
*/
bool sr_playback_begin(SrSitting* sitting, SrPlaybackKind kind, SrHeldRound* held, SrBarRange bars,
                       SrError* error);

#endif // SR_WINDOW_PLAYBACK_H
