// SPDX-License-Identifier: GPL-3.0-or-later

// Writes down what a stretch of a recording holds, on another thread.

#ifndef SR_WINDOW_STRETCH_WRITING_H
#define SR_WINDOW_STRETCH_WRITING_H

#include "chosen.h"

#include <steadyreed/transcribe.h>

#include <gio/gio.h>

/// Shortest and longest stretch that is written down, s. A phrase to be learnt is some bars long.
#define SR_STRETCH_LEAST_S 1.0
#define SR_STRETCH_MOST_S 120.0

/// What is to be written down. Texts may be NULL.
typedef struct {
  char* path; ///< The recording
  double from_s;
  double to_s;
  char* key;       ///< As in SrScoreWish, like the next two
  int meter_beats; ///< 0 to guess
  int meter_unit;
  double tempo_bpm;      ///< NAN to guess
  double upbeat_quavers; ///< NAN to guess
  SrOctaves octaves;     ///< As for sr_transcribed_take_make()
  char* layout;          ///< As in SrChoice, like the next two
  char* style;
  bool unplanned;
} SrStretchWish;

/// What was found.
typedef struct {
  SrStretchWish wish;
  SrScore score;
  SrChosen* chosen; ///< The phrase; NULL if there is none. Its choice has no path
  SrError error;    ///< Why there is none
} SrStretchWriting;

SrStretchWish sr_stretch_wish_copy(const SrStretchWish* wish);
void sr_stretch_wish_clear(SrStretchWish* wish);

/**
   Begin to write it down.

   @param owner       Kept until it is done, and given to `done`.
   @param wish        Copied.
   @param cancellable The result is then not looked at; what goes on ends by itself.
   @param done        Called on the main thread; takes the result by sr_stretch_writing_finish().
*/
void sr_stretch_writing_begin(GObject* owner, const SrStretchWish* wish, GCancellable* cancellable,
                              GAsyncReadyCallback done);
/// The result; free it with sr_stretch_writing_free(). NULL if it was cancelled.
SrStretchWriting* sr_stretch_writing_finish(GAsyncResult* result);
void sr_stretch_writing_free(SrStretchWriting* writing);

/**
   The tune in ABC notation.

   @param title UTF-8; what a title cannot hold is left out. "By Ear" if nothing is left.
   @param size  Receives its size.
   @return free() it; NULL without memory.
*/
char* sr_stretch_writing_text(const SrScore* score, const char* title, size_t* size);
/// A title that can stand in a tune; g_free() it.
char* sr_stretch_writing_title(const char* title);

#endif // SR_WINDOW_STRETCH_WRITING_H
