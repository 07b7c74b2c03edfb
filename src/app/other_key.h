// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_OTHER_KEY_H
#define SR_APP_OTHER_KEY_H

#include <steadyreed/phrase.h>

/**
   By how many semitones higher a take seems to be played than its phrase is written: the shift at
   which the pitches heard, without the phrase in mind, share the most time with those written.

   @return From -SR_MOST_TRANSPOSED to that; 0 also if the take cannot be read.
*/
int sr_other_key(const SrPhrase* phrase, const char* path);

/// Such as "a fourth higher", for `semitones` other than 0.
const char* sr_interval_name(int semitones, char name[48]);

#endif // SR_APP_OTHER_KEY_H
