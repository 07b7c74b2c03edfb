// SPDX-License-Identifier: GPL-3.0-or-later

// The best and the latest kept take of a phrase for the view of two takes, counted, read and judged
// on another thread.

#ifndef SR_WINDOW_KEPT_COMPARING_H
#define SR_WINDOW_KEPT_COMPARING_H

#include "two_takes_view.h"

#include <steadyreed/history.h>

/**
   Read and judge them, then offer them in an open view. What the view shows already stays; else it
   shows the better one beside `shown`, or both of them, the older one first.

   @param chosen The phrase.
   @param shown  A round that the view is about; NULL for none.
*/
void sr_kept_comparing_begin(SrTwoTakesView* view, SrChosen* chosen, SrComparedTake* shown);
/// The same without a round, of a phrase that is still to be read from its file.
void sr_kept_comparing_begin_phrase(SrTwoTakesView* view, const SrHistoryPhrase* phrase);

/// Count them; `done` is called in the main loop, with `owner`, which is kept until then.
void sr_kept_counting_begin(GObject* owner, SrChosen* chosen, GAsyncReadyCallback done);
/// Of which phrase they were counted.
const SrChosen* sr_kept_counting_chosen(GAsyncResult* result);
/// 0 to 2.
size_t sr_kept_counting_finish(GAsyncResult* result);

#endif // SR_WINDOW_KEPT_COMPARING_H
