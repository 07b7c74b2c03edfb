// SPDX-License-Identifier: GPL-3.0-or-later

// The two takes that `beside` compares: recordings, or kept takes of the phrase.

#ifndef SR_APP_BESIDE_TAKES_H
#define SR_APP_BESIDE_TAKES_H

#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

/// Size of a take's name in words, bytes.
#define SR_BESIDE_NAME_SIZE 200

/// A take that was found. Clear it with sr_beside_take_clear().
typedef struct {
  char* path;
  char name[SR_BESIDE_NAME_SIZE]; ///< Such as "29 November 2026, best"
  bool latest;                    ///< The last one that is kept
} SrBesideTake;

/**
   Find two takes.

   @param phrase As chosen from its file.
   @param asked  Each a recording, the name of a kept take, its number in sr_beside_list(), "best"
                 or "latest"; both NULL for the best and the latest, or, if these are one, the
                 latest and the one before it.
   @param takes  Receive them; clear both, also on error.
   @return 0, or an exit status of an error, which was reported.
*/
int sr_beside_find(const SrPhrase* phrase, const char* const asked[2], SrBesideTake takes[2]);
/**
   Find the best and the latest take of a phrase that are kept; not one that is still being
   recorded.

   @param takes Receive them, the best first; if they are one, it and the one before it.
   @return How many, 0 to 2; clear these. Errors are not reported.
*/
size_t sr_beside_kept(const SrPhrase* phrase, SrBesideTake takes[2]);
/// List the kept takes of a phrase with their numbers, the oldest first. An exit status.
int sr_beside_list(const SrPhrase* phrase);
void sr_beside_take_clear(SrBesideTake* take);

#endif // SR_APP_BESIDE_TAKES_H
