// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file show_progress.h
   Progress as text for people.
*/

#ifndef STEADYREED_SHOW_PROGRESS_H
#define STEADYREED_SHOW_PROGRESS_H

#include <steadyreed/declarations.h>
#include <steadyreed/progress.h>
#include <steadyreed/show.h>

#include <stddef.h>
#include <stdio.h>

SR_BEGIN_DECLARATIONS

/// Size of a date in words, bytes with its NUL.
#define SR_DAY_WORDS_SIZE 40

/// A day in English words, such as "Tue 3 Nov", or "3 November 2026" if `whole`. `day` as by
/// sr_moment_day(), years 1 to 9999. Returns `words`.
const char* sr_show_day(int day, bool whole, char words[SR_DAY_WORDS_SIZE]);

/// Size of a phrase in words, bytes with its NUL.
#define SR_PHRASE_WORDS_SIZE 512

/// A phrase in words, such as "The Wet Gate, part A, bars 1 to 8", cut to its size. Returns
/// `words`.
const char* sr_show_history_phrase(const SrHistoryPhrase* phrase, char words[SR_PHRASE_WORDS_SIZE]);

/// Size of the sentence on trends, bytes with its NUL.
#define SR_TREND_WORDS_SIZE 768

/**
   What got better and what did not, in one sentence, such as "Over 14 days since 3 November: better
   in clean cuts (from 62 to 88 percent); no change beyond chance in spread." Nothing is called
   better or worse but by SrTrend.

   @param words Receives it.
   @return `words`.
*/
const char* sr_show_trends(const SrPhraseTrends* trends, char words[SR_TREND_WORDS_SIZE]);

/**
   Write a phrase with its last days, a row a day (a sentence a day below 72 columns), and the
   sentence on trends. A column that would be empty is left out.

   @param days How many of its last days, at least 1.
*/
void sr_show_progress(FILE* stream, const SrPhraseProgress* progress, size_t days,
                      const SrShowStyle* style);

SR_END_DECLARATIONS

#endif // STEADYREED_SHOW_PROGRESS_H
