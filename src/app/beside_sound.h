// SPDX-License-Identifier: GPL-3.0-or-later

// The two takes of `beside`, heard one after the other.

#ifndef SR_APP_BESIDE_SOUND_H
#define SR_APP_BESIDE_SOUND_H

#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

/// What is heard, and how.
typedef struct {
  const char* output; ///< File to write; NULL for the loudspeaker
  int first_bar;      ///< Bars heard, as numbered in the music; both 0 for all
  int last_bar;
  bool whole;      ///< All bars of one take, then of the other; otherwise bar by bar
  bool same_tempo; ///< The faster take is slowed down to the tempo of the other
} SrBesideSound;

/// A take to be heard.
typedef struct {
  const char* path;
  const SrRound* round; ///< The round that is heard
} SrBesideHeard;

/// Let two takes of a phrase be heard. An exit status; errors are reported.
int sr_beside_sound(const SrBesideSound* asked, const SrPhrase* phrase,
                    const SrBesideHeard takes[2]);

#endif // SR_APP_BESIDE_SOUND_H
