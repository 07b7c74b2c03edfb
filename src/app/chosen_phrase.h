// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_CHOSEN_PHRASE_H
#define SR_APP_CHOSEN_PHRASE_H

#include <steadyreed/phrase.h>

/**
   Read the selected phrase of a file and print what was assumed or ignored. If it cannot be read,
   print why; if the tune is missing, print which tunes there are.

   @return The phrase, or NULL.
*/
SrPhrase* sr_chosen_phrase_read(const char* path, const SrPhraseChoice* choice);

#endif // SR_APP_CHOSEN_PHRASE_H
