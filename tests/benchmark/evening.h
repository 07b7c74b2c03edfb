// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file evening.h
   An evening of practice as a stream: rounds of a phrase at changing tempi, some broken off, with
   pauses, over the noise of a room.
*/

#ifndef SR_TESTS_EVENING_H
#define SR_TESTS_EVENING_H

#include <steadyreed/phrase.h>

#include <stddef.h>

typedef struct EveningImpl Evening;

/// Begin one; ends the benchmark with status 1 if it cannot.
Evening* evening_new(const SrPhrase* phrase, double rate_hz);
/// The next samples: as many as wanted, it never ends. Always the same.
void evening_read(Evening* evening, float* samples, size_t count);
/// Free; NULL does nothing.
void evening_del(Evening* evening);

#endif // SR_TESTS_EVENING_H
