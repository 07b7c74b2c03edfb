// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file progress.h
   What got better from day to day, and what did not, as far as it is more than chance.

   Each measure of a phrase is tested for a trend over the days on which it was played, by the
   Mann-Kendall test (Mann 1945, Econometrica 13:245-259; Kendall 1975, Rank Correlation Methods;
   with ties and the continuity correction as in Gilbert 1987, Statistical Methods for Environmental
   Pollution Monitoring, section 16.4). It asks for no kind of distribution. Since several measures
   are tested at once, a trend is told only if it stands at 5 % by the method of Holm (1979,
   Scandinavian Journal of Statistics 6:65-70): the chance that anything at all is told of a phrase
   that neither got better nor worse is then at most 5 %, as long as one day does not depend on the
   next. Measured over 1000 months without a change: 3 to 4 %; where half of a day's form is that of
   the day before, 10 %.
*/

#ifndef STEADYREED_PROGRESS_H
#define STEADYREED_PROGRESS_H

#include <steadyreed/declarations.h>
#include <steadyreed/history.h>
#include <steadyreed/status.h>

#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Result of a Mann-Kendall test.
typedef struct {
  size_t count;    ///< Values that were there
  double s;        ///< Pairs that rise minus pairs that fall
  double variance; ///< Of `s` without a trend, with ties counted
  double z;        ///< Standard score, with continuity correction
  double p;        ///< Chance of so large an `s` of either sign without a trend; 1 if all are equal
} SrTrendTest;

/// Test values in order of time; NANs are left out.
SrTrendTest sr_trend_test(const double* values, size_t count);

/// What is followed from day to day.
typedef enum {
  SR_MEASURE_CLEAN_BPM, ///< Mean tempo of the rounds without a fault, pulses a minute
  SR_MEASURE_CUTS,      ///< Share of cuts that were clean, percent
  SR_MEASURE_SPREAD,    ///< Spread, ms
  SR_MEASURE_OFFSET,    ///< Distance from the click, mean absolute over rounds, ms
  SR_MEASURE_ALONE,     ///< Distance moved while the click was silent, ms
  SR_MEASURE_AIR,       ///< Share of places for air where it was heard, percent
} SrMeasure;

#define SR_MEASURE_COUNT 6

/// Value of a measure on a day; NAN if there is none.
double sr_measure_of(const SrPracticeDay* day, SrMeasure measure);

typedef enum {
  SR_TREND_UNTOLD, ///< On too few days to tell
  SR_TREND_NONE,   ///< No change that is more than chance
  SR_TREND_BETTER,
  SR_TREND_WORSE,
} SrTrend;

/// Days with a value that are needed to tell a trend.
#define SR_TREND_LEAST_DAYS 8
/// Days back from the last one, with it, that a trend is told of.
#define SR_TREND_WINDOW 30

/// A measure over the days.
typedef struct {
  SrTrend trend;
  SrTrendTest test;
  double from; ///< Mean of the first third of the days with a value (rounded down, at least one)
  double to;   ///< Mean of the last third
} SrMeasureTrend;

/// All measures of a phrase.
typedef struct {
  int first_day; ///< Day of the first value considered
  size_t days;   ///< Days practised from there on
  SrMeasureTrend measures[SR_MEASURE_COUNT];
} SrPhraseTrends;

/**
   Test all measures of a phrase over the last SR_TREND_WINDOW days.

   @param days  In order; at least one.
   @param count How many.
*/
SrPhraseTrends sr_phrase_trends(const SrPracticeDay* days, size_t count);

/// A phrase with its days. Free a list with sr_progress_del().
typedef struct {
  SrHistoryPhrase phrase;
  SrPracticeDay* days; ///< The last SR_TREND_WINDOW days up to its last one, or all
  size_t day_count;
  SrPhraseTrends trends;
} SrPhraseProgress;

/**
   How it has gone.

   @param first_day Phrases last played before this day are left out; INT_MIN for none.
   @param title     Only phrases whose title contains this, in any case; NULL for all.
   @param progress  Receives them, the last played first.
   @return SR_OK, or as the queries of history.h.
*/
SrStatus sr_progress_read(SrHistory* history, int first_day, const char* title,
                          SrPhraseProgress** progress, size_t* count, SrError* error);
/// The same with all days on which each phrase was played. The trends stay those of the last
/// SR_TREND_WINDOW days.
SrStatus sr_progress_read_whole(SrHistory* history, int first_day, const char* title,
                                SrPhraseProgress** progress, size_t* count, SrError* error);
void sr_progress_del(SrPhraseProgress* progress, size_t count);

SR_END_DECLARATIONS

#endif // STEADYREED_PROGRESS_H
