// SPDX-License-Identifier: GPL-3.0-or-later

// What was guessed when a recording was written down, how sure it is, and what changes it.

#ifndef SR_APP_GUESSES_H
#define SR_APP_GUESSES_H

#include <steadyreed/transcribe.h>

/// What the player asked for.
typedef struct {
  const SrScoreWish* wish;
  SrOctaves octaves;
} SrGuessesAsked;

/// Say it on standard error.
void sr_say_guesses(const SrGuessesAsked* asked, const SrScore* score);

#endif // SR_APP_GUESSES_H
