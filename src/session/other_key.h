// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_SESSION_OTHER_KEY_H
#define SR_SESSION_OTHER_KEY_H

#include <steadyreed/phrase.h>

/**
   Semitones by which a take seems to be played above its written pitch: the shift with the largest
   common time between the pitches heard without the phrase and those written.

   @return -SR_MOST_TRANSPOSED to SR_MOST_TRANSPOSED; 0 also if the take cannot be read.
*/
int sr_other_key(const SrPhrase* phrase, const char* path);

/// Name such as "a fourth higher", for `semitones` other than 0.
const char* sr_interval_name(int semitones, char name[48]);

#endif // SR_SESSION_OTHER_KEY_H
