// SPDX-License-Identifier: GPL-3.0-or-later

// What is chosen for today, read from the history on a thread of its own.

#ifndef SR_WINDOW_DAY_READING_H
#define SR_WINDOW_DAY_READING_H

#include "../today_items.h"

#include <gio/gio.h>

/// The items of a day. An error leaves it without items.
typedef struct {
  SrTodaySources sources;
  SrTodayItem items[SR_TODAY_MOST];
  size_t count;
  SrTodayPlayed today[SR_TODAY_MOST]; ///< Of each item, already
  SrLadderTempo tempo[SR_TODAY_MOST];
  SrError error; ///< Why there are no items, unless its status is SR_OK
} SrDay;

/// Read it; `done` is called in the main loop, with `owner`, which is kept until then.
void sr_day_reading_begin(GObject* owner, GAsyncReadyCallback done);
SrDay* sr_day_reading_finish(GAsyncResult* result);
/// NULL does nothing.
void sr_day_free(SrDay* day);

#endif // SR_WINDOW_DAY_READING_H
