// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file today_sources.h
   What can be practised today: the drills that come with the program, and the bars of the player's
   own tunes, with how they went until yesterday.
*/

#ifndef SR_APP_TODAY_SOURCES_H
#define SR_APP_TODAY_SOURCES_H

#include <steadyreed/phrase.h>
#include <steadyreed/today.h>

#include <stdbool.h>
#include <stddef.h>

/// Where a source is.
typedef struct {
  char* path;
  char* title;
  char* tune; ///< As in SrTodaySource
  int number; ///< X:
  int transposed;
  int first_bar; ///< Of the tune
  int last_bar;
  int practised_first; ///< BARS: in its rounds; both 0 without any
  int practised_last;
  SrTodayKind kind;
  SrPracticeDay* days;
  size_t day_count;
  SrBarFigures* bars;
  size_t bar_count;
} SrTodayPlace;

typedef struct {
  SrTodayPlace* places;
  SrTodaySource* sources; ///< One for each place
  size_t count;
  char** gone; ///< Files that are not there, or no longer hold the tune
  size_t gone_count;
  double played_s; ///< Today, all phrases together, without the rests; see sitting_clock.h
  SrError trouble; ///< Why there is no history, unless its status is SR_OK
} SrTodaySources;

/**
   Gather them. Without a history, or with one that cannot be read, there are only the drills.

   @param day     Today.
   @param sources Clear it afterwards, also on error.
   @return SR_OK; SR_NO_MEMORY; as the queries of history.h.
*/
SrStatus sr_today_sources_gather(int day, SrTodaySources* sources, SrError* error);
void sr_today_sources_clear(SrTodaySources* sources);

#endif // SR_APP_TODAY_SOURCES_H
