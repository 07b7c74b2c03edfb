// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file plans.h
   The table of takes on which accuracy is measured.
*/

#ifndef TEST_PLANS_H
#define TEST_PLANS_H

#include "take_maker.h"

/// Takes on made reeds; on recorded single reeds (the harmonica), as a concertina has
/// them; and on recorded doubled reeds (accordion and bandoneon), whose two tongues beat
/// against one another by 6 to 25 dB, as a concertina's never do.
#define MADE_TAKES 60u
#define RECORDED_TAKES 20u
#define DOUBLED_TAKES 12u

/// Which of them.
typedef enum { TAKES_MADE, TAKES_RECORDED, TAKES_DOUBLED } TakeSet;

/**
   Plan of take `index`.

   Each range is walked through evenly, each by another irrational step (Weyl 1916), so
   that all ranges are covered and mixed whatever the number of takes.

   @param set      Which takes.
   @param tune     Receives the X: number of its phrase in accuracy.abc.
*/
TakePlan plan_of(size_t index, TakeSet set, int* tune);

/**
   Make the take of a plan on a tune of a file.

   @param path   ABC.
   @param tune   Its X: number.
   @param phrase Receives the phrase, to be deleted; NULL if there is none.
   @param take   Receives the take, to be deleted; NULL likewise.
   @return 0; 1 if the file cannot be read, which is printed; 77 if its reeds cannot be had.
*/
int take_of_plan(const char* path, int tune, const TakePlan* plan, SrPhrase** phrase, Take** take);

#endif // TEST_PLANS_H
