// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file today.h
   What to practise today: a quarter of an hour, chosen from what was practised before.

   One rule. Everything has an interval: one day at first; a clean day, on which it was due, doubles
   it, up to SR_TODAY_MOST_DAYS; a day that was not clean makes it one day again. A day is clean if
   at least half of its rounds had no fault. How due something is, is the number of days since it
   was last practised as a share of its interval: 1 is due today. Intervals that grow with success
   are the expanding rehearsal of Landauer and Bjork (1978), "Optimum rehearsal patterns and name
   learning" (from memory); the numbers are common practice, no source.

   - Of the drills of each kind, the most due is chosen. Drills of a kind are given from easy to
     hard: one that was never played is due once the one before it had a clean day. One that was
     played and not clean comes before one that was never played.
   - Of the bars of tunes, two pairs, 1 and 2, 3 and 4 and so on: those where due, times one more
     than the faults a round in these bars, is largest. A whole tune and its bars that were
     practised apart count together.

   Only days before today count. What is equal is decided by the day. So all day the choice is the
   same, whatever is practised meanwhile, and another day has another.
*/

#ifndef STEADYREED_TODAY_H
#define STEADYREED_TODAY_H

#include <steadyreed/declarations.h>
#include <steadyreed/history.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Longest interval, days.
#define SR_TODAY_MOST_DAYS 32
/// Faults a round from which on bars are called faulty.
#define SR_TODAY_FAULTY 0.5
/// Time for all items together, minutes; with the pauses they take twelve to fifteen.
#define SR_TODAY_MINUTES 13.0
/// Pause before each item, s: for hands to come to rest, and into the straps.
#define SR_TODAY_PAUSE_S 15.0
/// Playing in a day after which to rest, s (common practice, no source).
#define SR_TODAY_REST_S 3600.0

/// Kinds of item.
typedef enum {
  SR_TODAY_STEADY, ///< Check of one's own beat: the click is silent in some bars
  SR_TODAY_CUTS,   ///< Drill of cuts on repeated notes
  SR_TODAY_AIR,    ///< Air drill
  SR_TODAY_BARS,   ///< Two bars of a tune, with a tempo ladder
} SrTodayKind;

/// Something that can be practised, and its past.
typedef struct {
  SrTodayKind kind;
  const char* tune; ///< BARS: sources with the same text are of one tune, which is what decides
                    ///< between equals; other kinds: any text
  int first_bar;    ///< BARS: what the tune has, as written
  int last_bar;
  const SrPracticeDay* days; ///< In order; those from today on do not count
  size_t day_count;
  const SrBarFigures* bars; ///< BARS: in its last rounds before today, in any order
  size_t bar_count;
} SrTodaySource;

/// Why something was chosen.
typedef enum {
  SR_TODAY_NEW,    ///< It was never practised
  SR_TODAY_FAULTS, ///< The bars had faults
  SR_TODAY_RESTED, ///< It is due
  SR_TODAY_TURN,   ///< Nothing of its kind is more due
} SrTodayReason;

/// Something to practise.
typedef struct {
  size_t source; ///< Index of the source; of bars, of the last one in which they were practised
  double minutes;
  double faults;      ///< BARS: faults a round; 0 otherwise
  SrBarFigures worst; ///< BARS: the bar with the most faults a round; zero without any
  SrTodayKind kind;
  int first_bar; ///< BARS: these
  int last_bar;
  SrTodayReason reason;
  int rested;   ///< Days since it was last practised, before today; -1 if it never was
  bool today;   ///< BARS: they were played today, as part of a longer stretch. The choice leaves it
                ///< false
  int interval; ///< Days
} SrTodayItem;

/// Most items.
#define SR_TODAY_MOST 5

/**
   Choose.

   @param sources What there is; drills of a kind from easy to hard. Bars of a source without days
                  are a beginning for those who have no others: the first two.
   @param count   Number of sources, 0 or more.
   @param day     Today, as by sr_moment_day().
   @param items   Receives the items in the order in which to play them.
   @param item_count Receives how many, 0 to SR_TODAY_MOST.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_today_choose(const SrTodaySource* sources, size_t count, int day,
                         SrTodayItem items[SR_TODAY_MOST], size_t* item_count, SrError* error);

/// Time for items with the pauses before them, minutes.
double sr_today_minutes(const SrTodayItem* items, size_t count);

/// Size of what sr_today_why() writes, bytes.
#define SR_TODAY_WHY_SIZE 128
/// Why, in a few words: "new for you" or "bar 3: about one cut in two not clean". Returns `words`.
const char* sr_today_why(const SrTodayItem* item, char words[SR_TODAY_WHY_SIZE]);

SR_END_DECLARATIONS

#endif // STEADYREED_TODAY_H
