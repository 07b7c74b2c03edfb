// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file today_items.h
   The items of a day, as a terminal and the window play and name them alike.
*/

#ifndef SR_APP_TODAY_ITEMS_H
#define SR_APP_TODAY_ITEMS_H

#include "today_sources.h"

#include <steadyreed/ladder.h>
#include <steadyreed/session.h>

/// Size of what sr_today_name() writes, bytes.
#define SR_TODAY_NAME_SIZE 192
/// Name of an item: its title, and its bars. Returns `words`.
const char* sr_today_name(const SrTodaySources* sources, const SrTodayItem* item,
                          char words[SR_TODAY_NAME_SIZE]);

/// From where to where the tempo of an item goes, pulses a minute; NAN if its file cannot be read.
/// Asks the history.
SrLadderTempo sr_today_tempo(const SrTodaySources* sources, const SrTodayItem* item);
/// Size of what sr_today_task() writes, bytes.
#define SR_TODAY_TASK_SIZE 128
/// What is to be done with it, such as "tempo ladder from 80, towards 100". Returns `words`.
const char* sr_today_task(SrTodayKind kind, const SrLadderTempo* tempo,
                          char words[SR_TODAY_TASK_SIZE]);

/// Size of what sr_today_announce() writes, bytes.
#define SR_TODAY_SPOKEN_SIZE (SR_TODAY_NAME_SIZE + 64)
/// What is spoken before an item: "Next: First Cuts, 3 minutes." Returns `words`.
const char* sr_today_announce(const SrTodaySources* sources, const SrTodayItem* item, bool first,
                              char words[SR_TODAY_SPOKEN_SIZE]);

/// What is selected from the file of an item.
SrPhraseChoice sr_today_item_choice(const SrTodaySources* sources, const SrTodayItem* item);
/// Settings for all items: the pause before each, and how long silence lasts until one ends.
void sr_today_settings(SrSessionSettings* settings);
/// Settings of one item besides: the silent bars of the click.
void sr_today_item_settings(const SrTodayItem* item, SrSessionSettings* settings);
/// Time for an item with the pause before it, s.
double sr_today_item_s(const SrTodayItem* item, const SrSessionSettings* settings);

/// What was played of an item on a day.
typedef struct {
  unsigned rounds;
  bool done; ///< … and it is enough for the day; otherwise it has begun, if there are rounds
} SrTodayPlayed;

/// Rounds that are half of what fits into a minute of an item, with the count-ins and pauses
/// between them (common practice, no source).
#define SR_TODAY_ROUNDS_A_MINUTE 3.0

/**
   What was played of an item on a day, in whatever way: it is done after half of its minutes, or
   after SR_TODAY_ROUNDS_A_MINUTE of them. Of bars of a tune, rounds in which nothing but these bars
   was played.
*/
SrTodayPlayed sr_today_played(const SrTodaySources* sources, const SrTodayItem* item, int day);
/// Whether bars of a tune were played on a day as part of a longer stretch; for SrTodayItem.today.
bool sr_today_in_longer(const SrTodaySources* sources, const SrTodayItem* item, int day);

/// Items in a row that silence has ended without a round, after which nobody is there.
#define SR_TODAY_SILENT_ITEMS 2u

/// Whether all is over after an item. Whoever plays something else has not left, so one item that
/// silence ended is not enough; `silent_items` counts them, from 0.
static inline bool
sr_today_nobody_plays(unsigned* const silent_items, const bool ended_by_silence, const bool played)
{
  *silent_items = ended_by_silence && !played ? *silent_items + 1 : 0;
  return *silent_items >= SR_TODAY_SILENT_ITEMS;
}

/// What was played.
typedef struct {
  size_t done;  ///< Items in which a round was played,
  size_t count; ///< of these
  size_t rounds;
  size_t clean;    ///< Without a fault
  double played_s; ///< In rounds
} SrTodaySum;

/// Size of what sr_today_sum() writes, bytes.
#define SR_TODAY_SUM_SIZE 160
/// "12 rounds, 9 of them without a fault, 11 minutes of playing." Returns `words`.
const char* sr_today_sum(const SrTodaySum* sum, char words[SR_TODAY_SUM_SIZE]);

/// That it is enough for a day, for who has played SR_TODAY_REST_S; pain is nothing for a program.
extern const char sr_today_rest_words[];
/// The same as it is spoken.
extern const char sr_today_rest_spoken[];

#endif // SR_APP_TODAY_ITEMS_H
