// SPDX-License-Identifier: GPL-3.0-or-later

// The kept takes with how they went, read and marked on a thread of its own.

#ifndef SR_WINDOW_TAKES_READING_H
#define SR_WINDOW_TAKES_READING_H

#include <steadyreed/kept_takes.h>

#include <gio/gio.h>

/// How the rounds of a take went.
typedef struct {
  unsigned rounds;
  unsigned clean; ///< Without a fault
  double least_bpm;
  double most_bpm; ///< NAN if no tempo is known, both
  unsigned notes;
  unsigned notes_right;
  unsigned cuts;
  unsigned cuts_clean;
} SrTakeFigures;

/// The kept takes that are there. An error leaves it without any.
typedef struct {
  SrTakeEntry* takes; ///< The oldest first; those that are not there too
  size_t count;
  SrTakeFigures* figures;   ///< One for each
  SrHistoryPhrase* phrases; ///< The last played first
  size_t phrase_count;
  char* folder;   ///< In which they are
  uint64_t bytes; ///< Of all that are there
  uint64_t limit; ///< Room for all
  size_t there;
  SrError error; ///< Why there are none, unless its status is SR_OK; SR_NOT_FOUND if nothing was
                 ///< practised yet
} SrKeptTakes;

/// Read them; `done` is called in the main loop, with `owner`, which is kept until then.
void sr_takes_reading_begin(GObject* owner, GAsyncReadyCallback done);
SrKeptTakes* sr_takes_reading_finish(GAsyncResult* result);
/// NULL does nothing.
void sr_kept_takes_free(SrKeptTakes* kept);
/// The phrase of a take; NULL if the history has lost it.
const SrHistoryPhrase* sr_kept_takes_phrase(const SrKeptTakes* kept, const SrTakeEntry* take);

/// Keep a take for good, or no longer.
void sr_take_marking_begin(GObject* owner, const char* name, bool marked, GAsyncReadyCallback done);
/// The take that it was of.
const char* sr_take_marking_name(GAsyncResult* result);
/// Whether it was; else why not.
bool sr_take_marking_finish(GAsyncResult* result, SrError* error);

#endif // SR_WINDOW_TAKES_READING_H
