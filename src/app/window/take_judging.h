// SPDX-License-Identifier: GPL-3.0-or-later

// A kept take judged again, as `assess` does it, on a thread of its own.

#ifndef SR_WINDOW_TAKE_JUDGING_H
#define SR_WINDOW_TAKE_JUDGING_H

#include "painter.h"

#include <steadyreed/history.h>

#include <gio/gio.h>

/// How it came out.
typedef struct {
  GPtrArray* rounds; ///< SrHeldRound; empty on error
  SrError error;
} SrTakeVerdict;

/**
   Judge it. No session may run meanwhile.

   @param owner  Kept until `done` is called, in the main loop.
   @param path   The take.
   @param phrase What it is a take of, as the history knows it.
   @param done   Called with it.
*/
void sr_take_judging_begin(GObject* owner, const char* path, const SrHistoryPhrase* phrase,
                           GAsyncReadyCallback done);
SrTakeVerdict* sr_take_judging_finish(GAsyncResult* result);
void sr_take_verdict_free(SrTakeVerdict* verdict);

#endif // SR_WINDOW_TAKE_JUDGING_H
