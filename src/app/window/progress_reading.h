// SPDX-License-Identifier: GPL-3.0-or-later

// Reads the whole history on another thread, and writes pages of it there.

#ifndef SR_WINDOW_PROGRESS_READING_H
#define SR_WINDOW_PROGRESS_READING_H

#include <gio/gio.h>
#include <steadyreed/progress.h>

/// What was found; several may hold it, and none changes it.
typedef struct {
  gatomicrefcount references;
  SrStatus status;           ///< SR_OK also without a history: then there is no phrase
  SrError error;             ///< Why it could not be read
  char* path;                ///< Of the history; NULL without one
  SrPhraseProgress* phrases; ///< With all their days, the last practised first
  size_t phrase_count;
  SrPracticeDay* every; ///< Days of all phrases together
  size_t every_count;
  int today;
} SrProgressReading;

/**
   Begin to read.

   @param owner Kept until it is done, and given to `done`.
   @param done  Called on the main thread; takes the result by sr_progress_reading_finish().
*/
void sr_progress_reading_begin(GObject* owner, GAsyncReadyCallback done);
SrProgressReading* sr_progress_reading_finish(GAsyncResult* result);
SrProgressReading* sr_progress_reading_ref(SrProgressReading* reading);
void sr_progress_reading_unref(SrProgressReading* reading);

/**
   Begin to write the page of a phrase.

   @param index Of the phrase.
   @param path  Copied; without an extension it gets ".pdf".
   @param done  Called on the main thread; takes the result by sr_progress_page_finish().
*/
void sr_progress_page_begin(GObject* owner, SrProgressReading* reading, size_t index,
                            const char* path, GAsyncReadyCallback done);
/// What to say of it, whether written or not; g_free() it.
char* sr_progress_page_finish(GAsyncResult* result);

#endif // SR_WINDOW_PROGRESS_READING_H
