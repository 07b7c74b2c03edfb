// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file today_items.h
   The items of a day, as a terminal and the window play and name them alike.
*/

#ifndef SR_APP_TODAY_ITEMS_H
#define SR_APP_TODAY_ITEMS_H

#include "today_sources.h"

#include <steadyreed/session.h>

/// Size of what sr_today_name() writes, bytes.
#define SR_TODAY_NAME_SIZE 192
/// Name of an item: its title, and its bars. Returns `words`.
const char* sr_today_name(const SrTodaySources* sources, const SrTodayItem* item,
                          char words[SR_TODAY_NAME_SIZE]);
/// What is to be done with it, such as "tempo ladder".
const char* sr_today_task(SrTodayKind kind);

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

/**
   Rounds of an item that were played on a day, in whatever way: it is done if there are any. Of
   bars of a tune, those in which nothing but these bars was played.
*/
unsigned sr_today_rounds(const SrTodaySources* sources, const SrTodayItem* item, int day);

/// Whether all is over after an item.
static inline bool
sr_today_nobody_plays(const bool ended_by_silence, const bool played)
{
  return ended_by_silence && !played;
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
