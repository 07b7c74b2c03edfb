// SPDX-License-Identifier: GPL-3.0-or-later

// Pins of notes and cuts as a player writes them, such as "2:3=L1-4".

#ifndef SR_SESSION_WISHED_PINS_H
#define SR_SESSION_WISHED_PINS_H

#include <steadyreed/plan_wish.h>

/**
   Read the pins and the cuts of a wish, and check that they do not contradict one another or the
   phrase. A pin of a repeated note is one of each of its playings.

   @param wished Its instrument must be there; receives the pins and cuts.
   @return SR_OK, SR_BAD_ARGUMENT, SR_TOO_LARGE or SR_NO_MEMORY.
*/
SrStatus sr_wished_pins_read(const SrPlanWish* wish, const SrPhrase* phrase, SrWishedPlan* wished,
                             SrError* error);

#endif // SR_SESSION_WISHED_PINS_H
