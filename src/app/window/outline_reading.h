// SPDX-License-Identifier: GPL-3.0-or-later

// Reads the outline of a recording on another thread.

#ifndef SR_WINDOW_OUTLINE_READING_H
#define SR_WINDOW_OUTLINE_READING_H

#include <steadyreed/take_outline.h>

#include <gio/gio.h>

/**
   Begin to read.

   @param owner       Kept until it is done, and given to `done`.
   @param path        The recording; copied.
   @param cancellable Ends it soon.
   @param done        Called on the main thread; takes the result by sr_outline_reading_finish().
*/
void sr_outline_reading_begin(GObject* owner, const char* path, GCancellable* cancellable,
                              GAsyncReadyCallback done);
/// The outline, which is the caller's. NULL if it was cancelled, with an empty message, or if it is
/// not a recording.
SrTakeOutline* sr_outline_reading_finish(GAsyncResult* result, SrError* error);

#endif // SR_WINDOW_OUTLINE_READING_H
