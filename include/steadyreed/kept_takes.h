// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file kept_takes.h
   The takes that practice keeps, and which of them go when they become too large.

   While all takes together are within the limit, all stay. Beyond it the oldest go first, until the
   rest fits, but never

   - a take that the player marked,
   - the best take of a phrase: the one with the round whose mean score, times the share of notes
     right, is highest; of equal ones the fastest in whole pulses a minute, then the latest;
     unfinished rounds come last,
   - the latest take of a phrase,
   - a file that is not ours: only one that the history knows by name, in the takes folder itself, a
     regular file with one name, with the very size and time of change that it had when it was
   saved.

   So the rest may stay above the limit. Files that the history does not know do not count.
*/

#ifndef STEADYREED_KEPT_TAKES_H
#define STEADYREED_KEPT_TAKES_H

#include <steadyreed/declarations.h>
#include <steadyreed/history.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Room for takes if the player sets no other, bytes: some 30 hours at 44100 Hz (340 MB an hour,
/// measured with a shipped take under noise of -65 dBFS at 24 bits).
#define SR_USUAL_TAKES_LIMIT UINT64_C(10000000000)

/// A take that the history knows.
typedef struct {
  char* name;     ///< File name in the takes folder
  int64_t phrase; ///< Id of its phrase
  char* title;    ///< Of the phrase
  int first_bar;
  int last_bar;
  SrMoment last; ///< When its last round ended, or was broken off
  size_t rounds;
  size_t unfinished; ///< Rounds that were broken off
  bool there;        ///< There is a regular file of this name
  uint64_t bytes;    ///< Its size
  bool ours;         ///< It is as it was saved
  bool marked;
  bool best;   ///< Of its phrase, among those there
  bool latest; ///< Of its phrase, among those there
} SrTakeEntry;

/**
   All takes known, the oldest first. Free with sr_take_entries_del().

   @param folder  Takes folder; NULL for the usual one.
   @return SR_OK, as sr_takes_folder(), or as the queries of history.h.
*/
SrStatus sr_take_entries(SrHistory* history, const char* folder, SrTakeEntry** entries,
                         size_t* count, SrError* error);
void sr_take_entries_del(SrTakeEntry* entries, size_t count);

/**
   Remember that a take is finished as it lies there now; from then on it may be removed.

   @param path Of the take, in the takes folder.
   @return SR_OK; SR_NOT_FOUND (no such file, or no round of it is known); SR_WRITE_FAILED ...
*/
SrStatus sr_history_take_saved(SrHistory* history, const char* path, SrError* error);

/**
   Mark a take, or take the mark from it.

   @param name File name with or without ".flac", or a path that ends in it.
   @return SR_OK; SR_NOT_FOUND (the history knows no such take); as sr_history_add_round().
*/
SrStatus sr_history_take_mark(SrHistory* history, const char* name, bool marked, SrError* error);

/**
   What sr_take_prune() would remove.

   @param entries As from sr_take_entries(), all of them.
   @param limit   Bytes.
   @param bytes   Receives their size together.
   @return How many takes.
*/
size_t sr_takes_over(const SrTakeEntry* entries, size_t count, uint64_t limit, uint64_t* bytes);

/**
   Remove what is over the limit, by the rules above.

   @param limit   Bytes.
   @param folder  Takes folder; NULL for the usual one.
   @param removed Receives what was removed, the oldest first; free with sr_take_entries_del(), also
                  on error.
   @param left    Receives how many bytes of takes are left; NULL if it is of no interest.
   @return As sr_take_entries(); SR_WRITE_FAILED or SR_NO_PERMISSION if a file could not be removed.
*/
SrStatus sr_take_prune(SrHistory* history, const char* folder, uint64_t limit,
                       SrTakeEntry** removed, size_t* count, uint64_t* left, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_KEPT_TAKES_H
