// SPDX-License-Identifier: GPL-3.0-or-later

// Stretches of the calendar: what days are put together, and the days that an axis names.

#ifndef SR_SHOW_CALENDAR_H
#define SR_SHOW_CALENDAR_H

#include <stddef.h>

/// What is put together to one mark. A week begins on Monday (ISO 8601).
typedef enum { SR_BIN_DAY, SR_BIN_WEEK, SR_BIN_MONTH, SR_BIN_QUARTER, SR_BIN_YEAR } SrBin;

#define SR_BIN_COUNT 5

/// Number of the bin in which a day lies; that of the next one is one more.
int sr_bin_of(SrBin bin, int day);
/// First day of a bin.
int sr_bin_first_day(SrBin bin, int number);

/// Size of the words of a bin, bytes with their NUL.
#define SR_BIN_WORDS_SIZE 48

/// A bin in words, such as "Sun 29 Nov", "week of 23 Nov", "November 2026", "Oct to Dec 2026" or
/// "2026". Returns `words`.
const char* sr_bin_words(SrBin bin, int number, char words[SR_BIN_WORDS_SIZE]);

/// Distances of the days that an axis names.
typedef enum {
  SR_TICK_DAY,
  SR_TICK_WEEK,
  SR_TICK_MONTH,
  SR_TICK_QUARTER,
  SR_TICK_YEAR,
  SR_TICK_TWO_YEARS,
  SR_TICK_FIVE_YEARS,
} SrTickStep;

#define SR_TICK_STEP_COUNT 7

/// First day of a step on or after a day.
int sr_tick_next(SrTickStep step, int day);

/// Size of the words of a tick, bytes with their NUL.
#define SR_TICK_WORDS_SIZE 16

/// A tick in words: "29 Nov", "Nov", or "2027" for a January. Returns `words`.
const char* sr_tick_words(SrTickStep step, int day, char words[SR_TICK_WORDS_SIZE]);

#endif // SR_SHOW_CALENDAR_H
