// SPDX-License-Identifier: GPL-3.0-or-later

// A take that is set beside another: a round of this sitting, or a recording.

#ifndef SR_WINDOW_COMPARED_TAKE_H
#define SR_WINDOW_COMPARED_TAKE_H

#include "painter.h"

#include <steadyreed/two_takes.h>

/// It does not change once it is made; several threads may read it.
typedef struct {
  char* name;        ///< What the player calls it: "Round 2", "12 October 2026, best"
  char* path;        ///< The recording; NULL for a round that the sitting still has in memory
  SrHeldRound* held; ///< The round that is shown and heard
} SrComparedTake;

/// A round of the sitting, called "Round 2".
SrComparedTake* sr_compared_take_of_round(SrHeldRound* held);
/**
   A recording of a phrase, read, heard and judged; the best of its rounds is shown. It takes its
   time: call it on another thread.

   @param name What the player calls it.
   @return NULL on error.
*/
SrComparedTake* sr_compared_take_read(SrChosen* chosen, const char* path, const char* name,
                                      SrError* error);
SrComparedTake* sr_compared_take_ref(SrComparedTake* take);
/// NULL does nothing.
void sr_compared_take_unref(SrComparedTake* take);
/// What its figures are of: all rounds of a recording, or the one round.
SrPlayedRounds sr_compared_take_rounds(const SrComparedTake* take);

#endif // SR_WINDOW_COMPARED_TAKE_H
