// SPDX-License-Identifier: GPL-3.0-or-later

#include "calendar.h"

#include <steadyreed/show_progress.h>

#include <stdio.h>
#include <time.h>

/// From Monday, 29 December 1969, to day 0, a Thursday.
#define MONDAY_TO_ZERO 3

static const char* const SHORT[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                    "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
static const char* const LONG[] = {"January",   "February", "March",    "April",
                                   "May",       "June",     "July",     "August",
                                   "September", "October",  "November", "December"};

/// A month of the calendar.
typedef struct {
  int year;
  int month; ///< 0 to 11
  int day;   ///< From 1
} Date;

static int
floor_divide(const int value, const int by)
{
  return value / by - (value % by < 0);
}

static Date
date_of(const int day)
{
  const time_t seconds = (time_t)day * 86400;
  struct tm date = {0};
  if (!gmtime_r(&seconds, &date)) {
    return (Date){1970, 0, 1};
  }
  return (Date){date.tm_year + 1900, date.tm_mon, date.tm_mday};
}

/// First day of a month, counted from January of year 0.
static int
day_of_month(const int months)
{
  struct tm date = {.tm_year = floor_divide(months, 12) - 1900,
                    .tm_mon = months - 12 * floor_divide(months, 12)};
  date.tm_mday = 1;
  return (int)(timegm(&date) / 86400);
}

/// Months of a bin from a month on.
static int
months_of(const SrBin bin)
{
  return bin == SR_BIN_QUARTER ? 3 : bin == SR_BIN_YEAR ? 12 : 1;
}

int
sr_bin_of(const SrBin bin, const int day)
{
  if (bin == SR_BIN_DAY) {
    return day;
  }
  if (bin == SR_BIN_WEEK) {
    return floor_divide(day + MONDAY_TO_ZERO, 7);
  }
  const Date date = date_of(day);
  return floor_divide(12 * date.year + date.month, months_of(bin));
}

int
sr_bin_first_day(const SrBin bin, const int number)
{
  return bin == SR_BIN_DAY    ? number
         : bin == SR_BIN_WEEK ? 7 * number - MONDAY_TO_ZERO
                              : day_of_month(number * months_of(bin));
}

const char*
sr_bin_words(const SrBin bin, const int number, char words[SR_BIN_WORDS_SIZE])
{
  const int day = sr_bin_first_day(bin, number);
  const Date date = date_of(day);
  char name[SR_DAY_WORDS_SIZE];
  switch (bin) {
  case SR_BIN_DAY:
    snprintf(words, SR_BIN_WORDS_SIZE, "%s", sr_show_day(day, false, name));
    break;
  case SR_BIN_WEEK:
    snprintf(words, SR_BIN_WORDS_SIZE, "week of %d %s", date.day, SHORT[date.month]);
    break;
  case SR_BIN_MONTH:
    snprintf(words, SR_BIN_WORDS_SIZE, "%s %d", LONG[date.month], date.year);
    break;
  case SR_BIN_QUARTER:
    snprintf(words, SR_BIN_WORDS_SIZE, "%s to %s %d", SHORT[date.month], SHORT[date.month + 2],
             date.year);
    break;
  case SR_BIN_YEAR:
    snprintf(words, SR_BIN_WORDS_SIZE, "%d", date.year);
    break;
  }
  return words;
}

/// Months from tick to tick, of steps from a month on.
static int
months_between(const SrTickStep step)
{
  static const int MONTHS[SR_TICK_STEP_COUNT] = {1, 1, 1, 3, 12, 24, 60};
  return MONTHS[step];
}

int
sr_tick_next(const SrTickStep step, const int day)
{
  if (step == SR_TICK_DAY) {
    return day;
  }
  if (step == SR_TICK_WEEK) {
    return 7 * floor_divide(day + MONDAY_TO_ZERO + 6, 7) - MONDAY_TO_ZERO;
  }
  const Date date = date_of(day);
  const int months = 12 * date.year + date.month + (date.day > 1);
  const int each = months_between(step);
  return day_of_month(each * floor_divide(months + each - 1, each));
}

const char*
sr_tick_words(const SrTickStep step, const int day, char words[SR_TICK_WORDS_SIZE])
{
  const Date date = date_of(day);
  if (step <= SR_TICK_WEEK) {
    snprintf(words, SR_TICK_WORDS_SIZE, "%d %s", date.day, SHORT[date.month]);
  } else if (step >= SR_TICK_YEAR || date.month == 0) {
    snprintf(words, SR_TICK_WORDS_SIZE, "%d", date.year);
  } else {
    snprintf(words, SR_TICK_WORDS_SIZE, "%s", SHORT[date.month]);
  }
  return words;
}
