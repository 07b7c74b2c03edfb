// SPDX-License-Identifier: GPL-3.0-or-later

// Opens a session's devices on another thread: that may take a second, and a sound server that does
// not answer takes longer.

#ifndef SR_WINDOW_SESSION_OPENING_H
#define SR_WINDOW_SESSION_OPENING_H

#include "chosen.h"

#include <steadyreed/session.h>

#include <gio/gio.h>

/**
   Begin to open a session and to start it.

   @param owner    Kept until `done` was called.
   @param chosen   NULL for a session without a phrase; a reference is kept until `done` was called,
                   and the caller keeps one for as long as the session lives.
   @param settings Copied with its names of devices; its setup and places must stay until `done`.
   @param done     Called on the main thread with `owner`.
*/
void sr_session_opening_begin(GObject* owner, SrChosen* chosen, const SrSessionSettings* settings,
                              GAsyncReadyCallback done);
/// The session, which is the caller's; NULL with an error if it could not be opened.
SrSession* sr_session_opening_finish(GAsyncResult* result, SrError* error);

#endif // SR_WINDOW_SESSION_OPENING_H
