// SPDX-License-Identifier: GPL-3.0-or-later

#include "recorded_date.h"

#include <ctype.h>
#include <stddef.h>
#include <string.h>
#include <time.h>

#define EARLIEST_YEAR 2000

/// Read `count` digits and move past them; false if there are fewer.
static bool
take_digits(const char** const at, const int count, int* const value)
{
  *value = 0;
  for (int i = 0; i < count; ++i, ++*at) {
    if (!isdigit((unsigned char)**at)) {
      return false;
    }
    *value = 10 * *value + (**at - '0');
  }
  return true;
}

static bool
take(const char** const at, const char* const any)
{
  if (!**at || !strchr(any, **at)) {
    return false;
  }
  ++*at;
  return true;
}

/// Read "hh:mm", perhaps with seconds and a fraction.
static bool
take_time(const char** const at, struct tm* const date)
{
  if (!take_digits(at, 2, &date->tm_hour) || !take(at, ":-") ||
      !take_digits(at, 2, &date->tm_min) || date->tm_hour > 23 || date->tm_min > 59) {
    return false;
  }
  const char* more = *at;
  if (take(&more, ":-") && take_digits(&more, 2, &date->tm_sec) && date->tm_sec <= 60) {
    *at = more;
    if (take(at, ".,")) {
      *at += strspn(*at, "0123456789");
    }
  } else {
    date->tm_sec = 0;
  }
  return true;
}

/// Read "Z" or an offset such as +01:00, s. False without one.
static bool
take_zone(const char** const at, long* const offset_s)
{
  *offset_s = 0;
  if (take(at, "Zz")) {
    return true;
  }
  const bool west = **at == '-';
  int hours = 0;
  int minutes = 0;
  if (!take(at, "+-") || !take_digits(at, 2, &hours)) {
    return false;
  }
  (void)take(at, ":");
  (void)take_digits(at, 2, &minutes);
  *offset_s = (west ? -1L : 1L) * (hours * 3600L + minutes * 60L);
  return true;
}

SrRecordedDate
sr_recorded_date_read(const char* const text)
{
  const SrRecordedDate none = {.known = false};
  const char* at = text ? text : "";
  struct tm date = {.tm_isdst = -1};
  int year = 0;
  int month = 0;
  at += strspn(at, " ");
  if (!take_digits(&at, 4, &year) || !take(&at, "-:/") || !take_digits(&at, 2, &month) ||
      !take(&at, "-:/") || !take_digits(&at, 2, &date.tm_mday) || year < EARLIEST_YEAR ||
      month < 1 || month > 12 || date.tm_mday < 1 || date.tm_mday > 31) {
    return none;
  }
  date.tm_year = year - 1900;
  date.tm_mon = month - 1;
  SrRecordedDate read = {.known = true};
  long offset_s = 0;
  read.has_time = take(&at, "Tt ") && take_time(&at, &date);
  if (!read.has_time) {
    date.tm_hour = 0;
    date.tm_min = 0;
    date.tm_sec = 0;
  }
  if (read.has_time && take_zone(&at, &offset_s)) {
    read.utc_s = (int64_t)timegm(&date) - offset_s;
  } else {
    read.utc_s = (int64_t)mktime(&date);
  }
  return read;
}
