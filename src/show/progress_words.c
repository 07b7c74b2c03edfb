// SPDX-License-Identifier: GPL-3.0-or-later

// Progress in words.

#include <steadyreed/show_progress.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static const char* const weekdays[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
static const char* const months[] = {"January",   "February", "March",    "April",
                                     "May",       "June",     "July",     "August",
                                     "September", "October",  "November", "December"};

const char*
sr_show_day(const int day, const bool whole, char words[SR_DAY_WORDS_SIZE])
{
  const time_t seconds = (time_t)day * 86400;
  struct tm date = {0};
  // The days are local already
  if (!gmtime_r(&seconds, &date)) {
    snprintf(words, SR_DAY_WORDS_SIZE, "day %d", day);
  } else if (whole) {
    snprintf(words, SR_DAY_WORDS_SIZE, "%d %s %d", date.tm_mday, months[date.tm_mon],
             date.tm_year + 1900);
  } else {
    snprintf(words, SR_DAY_WORDS_SIZE, "%s %d %.3s", weekdays[date.tm_wday], date.tm_mday,
             months[date.tm_mon]);
  }
  return words;
}

const char*
sr_show_history_phrase(const SrHistoryPhrase* const phrase, char words[SR_PHRASE_WORDS_SIZE])
{
  char part[16] = "";
  if (phrase->part) {
    snprintf(part, sizeof(part), ", part %c", phrase->part);
  }
  char bars[48];
  if (phrase->first_bar == phrase->last_bar) {
    snprintf(bars, sizeof(bars), ", bar %d", phrase->first_bar);
  } else {
    snprintf(bars, sizeof(bars), ", bars %d to %d", phrase->first_bar, phrase->last_bar);
  }
  char key[48] = "";
  if (phrase->transposed) {
    snprintf(key, sizeof(key), ", transposed %+d semitone%s", phrase->transposed,
             abs(phrase->transposed) == 1 ? "" : "s");
  }
  snprintf(words, SR_PHRASE_WORDS_SIZE, "%.400s%s%s%s",
           phrase->title[0] ? phrase->title : "Without a title", part, bars, key);
  return words;
}

/// How a measure is called, and its unit.
static const struct {
  const char* name;
  const char* unit;
} measures[SR_MEASURE_COUNT] = {
    [SR_MEASURE_CLEAN_BPM] = {"the tempo of clean rounds", "pulses a minute"},
    [SR_MEASURE_CUTS] = {"clean cuts", "percent"},
    [SR_MEASURE_SPREAD] = {"spread", "ms"},
    [SR_MEASURE_OFFSET] = {"distance from the click", "ms"},
    [SR_MEASURE_ALONE] = {"keeping time alone", "ms off"},
    [SR_MEASURE_AIR] = {"air heard", "percent"},
};

/// Add words to a text as far as they fit.
static void
add(char words[SR_TREND_WORDS_SIZE], const char* const more)
{
  strncat(words, more, SR_TREND_WORDS_SIZE - 1 - strlen(words));
}

/// Number of measures with a trend.
static size_t
count_trend(const SrPhraseTrends* const trends, const SrTrend trend)
{
  size_t count = 0;
  for (size_t i = 0; i < SR_MEASURE_COUNT; ++i) {
    count += trends->measures[i].trend == trend;
  }
  return count;
}

/// Add the measures with one trend, "better in A (from 1 to 2 ms) and B (...)"; whether there were
/// any.
static bool
add_trend(const SrPhraseTrends* const trends, const SrTrend trend, const char* const opening,
          char words[SR_TREND_WORDS_SIZE])
{
  const size_t count = count_trend(trends, trend);
  size_t number = 0;
  for (size_t i = 0; i < SR_MEASURE_COUNT; ++i) {
    const SrMeasureTrend* const one = &trends->measures[i];
    if (one->trend != trend) {
      continue;
    }
    add(words, number == 0 ? opening : number + 1 == count ? " and " : ", ");
    add(words, measures[i].name);
    ++number;
    if (trend != SR_TREND_NONE) {
      char value[96];
      snprintf(value, sizeof(value), " (from %.0f to %.0f %s)", round(one->from), round(one->to),
               measures[i].unit);
      add(words, value);
    }
  }
  return count > 0;
}

/// Add the measures with too few days to tell a trend: "; too few days to tell: air heard (3 of
/// 8)". What was never measured is left out, but for clean rounds, of which a player may have none.
static void
add_untold(const SrPhraseTrends* const trends, char words[SR_TREND_WORDS_SIZE])
{
  bool first = true;
  for (size_t i = 0; i < SR_MEASURE_COUNT; ++i) {
    const SrMeasureTrend* const one = &trends->measures[i];
    if (one->trend != SR_TREND_UNTOLD || (!one->test.count && i != SR_MEASURE_CLEAN_BPM)) {
      continue;
    }
    char value[96];
    snprintf(value, sizeof(value), "%s%s (%zu of %d)", first ? "; too few days to tell: " : ", ",
             measures[i].name, one->test.count, SR_TREND_LEAST_DAYS);
    add(words, value);
    first = false;
  }
}

const char*
sr_show_trends(const SrPhraseTrends* const trends, char words[SR_TREND_WORDS_SIZE])
{
  if (count_trend(trends, SR_TREND_UNTOLD) == SR_MEASURE_COUNT) {
    snprintf(words, SR_TREND_WORDS_SIZE,
             "Too few days to say what got better: %zu in the last %d, and %d are needed.",
             trends->days, SR_TREND_WINDOW, SR_TREND_LEAST_DAYS);
    return words;
  }
  char since[SR_DAY_WORDS_SIZE];
  snprintf(words, SR_TREND_WORDS_SIZE, "Over %zu days since %s:", trends->days,
           sr_show_day(trends->first_day, true, since));
  const bool better = add_trend(trends, SR_TREND_BETTER, " better in ", words);
  const bool worse =
      add_trend(trends, SR_TREND_WORSE, better ? "; worse in " : " worse in ", words);
  (void)add_trend(
      trends, SR_TREND_NONE,
      better || worse ? "; no change beyond chance in " : " no change beyond chance in ", words);
  add_untold(trends, words);
  add(words, ".");
  return words;
}
