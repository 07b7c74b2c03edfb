// SPDX-License-Identifier: GPL-3.0-or-later

// Reads and plans a phrase on another thread, with what else can be chosen of its file.

#ifndef SR_WINDOW_PHRASE_READING_H
#define SR_WINDOW_PHRASE_READING_H

#include "chosen.h"

#include <steadyreed/assignment.h>

#include <gio/gio.h>

/// What else is to be read of a file.
typedef enum {
  SR_READ_PHRASE = 0,
  SR_READ_TUNES = 1, ///< Which tunes it has
  SR_READ_ASKED = 2, ///< What it asks for; its bars or part are those that are read
} SrReadAlso;

/// What was found.
typedef struct {
  SrTuneList* tunes;       ///< Of its file; NULL if they were not wanted or could not be read
  SrAssignment assignment; ///< All zero unless it was wanted and could be read
  bool outlined;           ///< `outline` is known
  SrTuneOutline outline;
  SrChosen* chosen; ///< NULL on error
  SrError error;    ///< Why there is no phrase
} SrPhraseReading;

/**
   Begin to read.

   @param owner      Kept until it is done, and given to `done`.
   @param choice     Copied; its path is set.
   @param also       What else is wanted, joined by `|`.
   @param done       Called on the main thread; takes the result by sr_phrase_reading_finish().
*/
void sr_phrase_reading_begin(GObject* owner, const SrChoice* choice, unsigned also,
                             GAsyncReadyCallback done);
/// What was read; free it with sr_phrase_reading_free().
SrPhraseReading* sr_phrase_reading_finish(GAsyncResult* result);
void sr_phrase_reading_free(SrPhraseReading* reading);

#endif // SR_WINDOW_PHRASE_READING_H
