// SPDX-License-Identifier: GPL-3.0-or-later

// How a kept take stands among the others, and how much room all have.

#ifndef SR_APP_TAKE_STANDING_H
#define SR_APP_TAKE_STANDING_H

#include <steadyreed/kept_takes.h>

/// Size of what sr_take_standing() writes, bytes.
#define SR_TAKE_STANDING_SIZE 64
/// ", best, latest, marked"; "" if there is nothing to say. Returns `words`.
const char* sr_take_standing(const SrTakeEntry* take, char words[SR_TAKE_STANDING_SIZE]);
/// Room for all takes, bytes; the usual one, with an error, if the preferences cannot be read.
uint64_t sr_takes_limit(SrError* error);

#endif // SR_APP_TAKE_STANDING_H
