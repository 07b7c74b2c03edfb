// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_CHOSEN_PHRASE_H
#define SR_APP_CHOSEN_PHRASE_H

#include <steadyreed/phrase.h>

/**
   Read what was chosen of a file, and say what was taken for granted or passed over. If it cannot
   be read, say why; where the tune is not there, which ones are.

   @return The phrase, or NULL.
*/
SrPhrase* sr_chosen_phrase_read(const char* path, const SrPhraseChoice* choice);

#endif // SR_APP_CHOSEN_PHRASE_H
