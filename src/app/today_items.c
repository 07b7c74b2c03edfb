// SPDX-License-Identifier: GPL-3.0-or-later

#include "today_items.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Bars with the click and without, in the check of one's own beat.
#define ON_BARS 4u
#define OFF_BARS 4u
/// If nothing at all is played, all of it ends after this, s.
#define FIRST_WAIT_S 60.0

const char sr_today_rest_words[] =
    "You have played for an hour today: rest now. Pain, tingling or numbness is for a doctor or "
    "another licensed professional.";

const char sr_today_rest_spoken[] = "You have played for an hour. Rest now.";

const char*
sr_today_name(const SrTodaySources* const sources, const SrTodayItem* const item,
              char words[SR_TODAY_NAME_SIZE])
{
  const SrTodayPlace* const place = &sources->places[item->source];
  const char* const title = place->title[0] ? place->title : "Untitled";
  char up[32] = "";
  if (place->transposed) {
    snprintf(up, sizeof(up), ", %+d semitones", place->transposed);
  }
  // Room is left for the bars behind a long title
  if (item->kind != SR_TODAY_BARS) {
    snprintf(words, SR_TODAY_NAME_SIZE, "%.96s", title);
  } else if (item->first_bar == item->last_bar) {
    snprintf(words, SR_TODAY_NAME_SIZE, "%.96s, bar %d%s", title, item->first_bar, up);
  } else {
    snprintf(words, SR_TODAY_NAME_SIZE, "%.96s, bars %d to %d%s", title, item->first_bar,
             item->last_bar, up);
  }
  return words;
}

const char*
sr_today_task(const SrTodayKind kind)
{
  switch (kind) {
  case SR_TODAY_STEADY:
    return "your own beat, four bars with the click and four without";
  case SR_TODAY_CUTS:
    return "cuts on repeated notes";
  case SR_TODAY_AIR:
    return "air that nobody hears";
  case SR_TODAY_BARS:
    break;
  }
  return "tempo ladder";
}

const char*
sr_today_announce(const SrTodaySources* const sources, const SrTodayItem* const item,
                  const bool first, char words[SR_TODAY_SPOKEN_SIZE])
{
  char title[SR_TODAY_NAME_SIZE];
  snprintf(words, SR_TODAY_SPOKEN_SIZE, "%s %s, %.0f minutes.",
           first ? "First:" : "Next:", sr_today_name(sources, item, title), ceil(item->minutes));
  return words;
}

SrPhraseChoice
sr_today_item_choice(const SrTodaySources* const sources, const SrTodayItem* const item)
{
  const SrTodayPlace* const place = &sources->places[item->source];
  if (item->kind != SR_TODAY_BARS) {
    return (SrPhraseChoice){.tune = place->number};
  }
  return (SrPhraseChoice){.tune = place->number,
                          .first_bar = item->first_bar,
                          .last_bar = item->last_bar,
                          .transpose = place->transposed};
}

void
sr_today_settings(SrSessionSettings* const settings)
{
  const SrSessionSettings usual = sr_session_settings_default();
  settings->start_wait_s = SR_TODAY_PAUSE_S;
  settings->first_wait_s = FIRST_WAIT_S;
  settings->silence_s = usual.silence_s;
}

void
sr_today_item_settings(const SrTodayItem* const item, SrSessionSettings* const settings)
{
  const bool alone = item->kind == SR_TODAY_STEADY;
  settings->on_bars = alone ? ON_BARS : 0;
  settings->off_bars = alone ? OFF_BARS : 0;
}

double
sr_today_item_s(const SrTodayItem* const item, const SrSessionSettings* const settings)
{
  return 60.0 * item->minutes + settings->start_wait_s;
}

static bool
is_same_file(const char* const one, const char* const other)
{
  if (!strcmp(one, other)) {
    return true;
  }
  char* const real = realpath(one, NULL);
  char* const other_real = realpath(other, NULL);
  const bool same = real && other_real && !strcmp(real, other_real);
  free(real);
  free(other_real);
  return same;
}

/// Whether nothing but the bars of an item was played in a source.
static bool
is_within(const SrTodayPlace* const source, const SrTodayPlace* const place,
          const SrTodayItem* const item)
{
  // A pickup belongs to the first bar
  const int first = item->first_bar <= 1 ? 0 : item->first_bar;
  return source->kind == SR_TODAY_BARS && source->number == place->number &&
         source->transposed == place->transposed && source->practised_first >= first &&
         source->practised_last <= item->last_bar && is_same_file(source->path, place->path);
}

static unsigned
rounds_on(const SrTodayPlace* const place, const int day)
{
  unsigned rounds = 0;
  for (size_t i = 0; i < place->day_count; ++i) {
    rounds += place->days[i].day == day ? place->days[i].rounds : 0;
  }
  return rounds;
}

unsigned
sr_today_rounds(const SrTodaySources* const sources, const SrTodayItem* const item, const int day)
{
  const SrTodayPlace* const place = &sources->places[item->source];
  if (item->kind != SR_TODAY_BARS) {
    return rounds_on(place, day);
  }
  unsigned rounds = 0;
  for (size_t i = 0; i < sources->count; ++i) {
    const SrTodayPlace* const source = &sources->places[i];
    rounds += is_within(source, place, item) ? rounds_on(source, day) : 0;
  }
  return rounds;
}

const char*
sr_today_sum(const SrTodaySum* const sum, char words[SR_TODAY_SUM_SIZE])
{
  const double minutes = sum->played_s / 60.0;
  char time[32];
  snprintf(time, sizeof(time), minutes < 1.0 ? "less than a minute" : "%.0f minute%s", minutes,
           round(minutes) == 1.0 ? "" : "s");
  snprintf(words, SR_TODAY_SUM_SIZE, "%zu round%s, %zu of them without a fault, %s of playing.",
           sum->rounds, sum->rounds == 1 ? "" : "s", sum->clean, time);
  return words;
}
