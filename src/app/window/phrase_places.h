// SPDX-License-Identifier: GPL-3.0-or-later

// The files that are offered: the recent ones and the shipped exercises, read on another thread.

#ifndef SR_WINDOW_PHRASE_PLACES_H
#define SR_WINDOW_PHRASE_PLACES_H

#include <gio/gio.h>

/// A file that is offered.
typedef struct {
  char* path;
  char* title; ///< Of its only tune, else the file's name; UTF-8
  char* about; ///< What it is for, or where it is; UTF-8
} SrPhrasePlace;

typedef struct {
  GPtrArray* recent;    ///< SrPhrasePlace, the last first
  GPtrArray* exercises; ///< SrPhrasePlace, by title
} SrPhrasePlaces;

/**
   Begin to look.

   @param owner  Kept until it is done, and given to `done`.
   @param recent Paths, copied; those that are missing are left out. NULL for none.
   @param done   Called on the main thread; takes the result by sr_phrase_places_finish().
*/
void sr_phrase_places_begin(GObject* owner, const char* const* recent, GAsyncReadyCallback done);
/// What was found; free it with sr_phrase_places_free().
SrPhrasePlaces* sr_phrase_places_finish(GAsyncResult* result);
void sr_phrase_places_free(SrPhrasePlaces* places);

#endif // SR_WINDOW_PHRASE_PLACES_H
