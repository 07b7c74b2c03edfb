// SPDX-License-Identifier: GPL-3.0-or-later

// Where `beside` finds no take of a phrase: which bars of its tune have some.

#ifndef SR_APP_BESIDE_OTHERS_H
#define SR_APP_BESIDE_OTHERS_H

#include <steadyreed/kept_takes.h>
#include <steadyreed/phrase.h>

#include <stdio.h>

/**
   List the other phrases of a tune of which takes are kept, with the options that choose them. The
   same tune is one of the same title; without a title nothing is said.

   @param history May be NULL: then nothing is said.
   @param takes   All that the history knows.
*/
void sr_beside_say_others(FILE* stream, const SrPhrase* phrase, SrHistory* history,
                          const SrTakeEntry* takes, size_t count);

#endif // SR_APP_BESIDE_OTHERS_H
