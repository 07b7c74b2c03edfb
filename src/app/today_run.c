// SPDX-License-Identifier: GPL-3.0-or-later

#include "today_run.h"

#include "chosen_phrase.h"
#include "command.h"
#include "drill_climb.h"
#include "ladder_climb.h"
#include "say.h"

#include <steadyreed/planned_places.h>

#include <math.h>
#include <stdio.h>

static const char name[] = "today";

/// Bars with the click and without, in the check of one's own beat.
#define ON_BARS 4u
#define OFF_BARS 4u

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

/// Practise a drill, faster from day to day.
static int
play_drill(const SrTodayPlace* const place, const SrTodayOptions* const options,
           const SrSessionSettings* const settings, const SrPractiseShow* const how,
           SrSeries* const series)
{
  const SrPhraseChoice choice = {.tune = place->number};
  SrPhrase* const phrase = sr_chosen_phrase_read(place->path, &choice);
  if (!phrase) {
    return SR_EXIT_NOT_JUDGED;
  }
  char** places = NULL;
  int status = sr_plan_options_places(&options->plan, name, false, (double)NAN, phrase, &places);
  if (!status) {
    const SrPractice origin = {.file = place->path,
                               .choice = choice,
                               .layout = places ? options->plan.wish.layout : NULL,
                               .style = places ? options->plan.wish.style : NULL};
    SrSessionSettings own = *settings;
    own.judge.places = (const char* const*)places;
    SrDrillClimb climb;
    status = sr_drill_climb_begin(&climb, phrase, &own, series)
                 ? sr_practise(phrase, &own, &origin, how, series)
                 : SR_EXIT_NOT_JUDGED;
    sr_drill_climb_clear(&climb);
  }
  sr_plan_places_del(phrase, places);
  sr_phrase_del(phrase);
  return status;
}

/// Practise an item.
static int
play_item(const SrTodaySources* const sources, const SrTodayItem* const item,
          const SrTodayOptions* const options, SrSeries* const series)
{
  const SrTodayPlace* const place = &sources->places[item->source];
  const SrPractiseShow how = {.speak = options->speak};
  SrSessionSettings settings = options->session;
  if (item->kind == SR_TODAY_STEADY) {
    settings.on_bars = ON_BARS;
    settings.off_bars = OFF_BARS;
  }
  series->most_s = 60.0 * item->minutes + settings.start_wait_s;
  series->after_round = NULL;
  series->ended = SR_SERIES_TROUBLE;
  if (item->kind != SR_TODAY_BARS) {
    return play_drill(place, options, &settings, &how, series);
  }
  const SrPhraseChoice choice = {.tune = place->number,
                                 .first_bar = item->first_bar,
                                 .last_bar = item->last_bar,
                                 .transpose = place->transposed};
  const SrLadderClimb climb = {.command = name,
                               .path = place->path,
                               .choice = &choice,
                               .plan = &options->plan,
                               .settings = &settings,
                               .from_bpm = (double)NAN};
  return sr_ladder_climb(&climb, &how, series);
}

/// Say what comes now, with what is spoken.
static void
announce(const SrTodaySources* const sources, const SrTodayItem* const items, const size_t index,
         const size_t count, char* const spoken, const size_t size)
{
  const SrTodayItem* const item = &items[index];
  char title[SR_TODAY_NAME_SIZE];
  sr_today_name(sources, item, title);
  if (index > 0) {
    sr_say_text(stdout, "\n");
  }
  sr_say_indented(stdout, 2, "%zu of %zu: %s, %.0f minutes: %s.", index + 1, count, title,
                  ceil(item->minutes), sr_today_task(item->kind));
  fflush(stdout);
  snprintf(spoken, size, "%s %s, %.0f minutes.", index ? "Next:" : "First:", title,
           ceil(item->minutes));
}

/// Say that it is enough for a day; pain is nothing for a program.
static void
say_rest(void)
{
  sr_say_paragraph(stdout, 0,
                   "You have played for an hour today: rest now. Pain, tingling or numbness is for "
                   "a doctor or another licensed professional.\n");
}

static void
sum_up(const SrSeries* const series, const size_t done, const size_t count)
{
  const double minutes = series->played_s / 60.0;
  char time[32];
  snprintf(time, sizeof(time), minutes < 1.0 ? "less than a minute" : "%.0f minute%s", minutes,
           round(minutes) == 1.0 ? "" : "s");
  sr_say_text(stdout, "\n");
  sr_say_indented(stdout, 2,
                  "Done: %zu of %zu, %zu round%s, %zu of them without a fault, %s of playing.",
                  done, count, series->rounds, series->rounds == 1 ? "" : "s", series->clean, time);
}

int
sr_today_play(const SrTodaySources* const sources, const SrTodayItem* const items,
              const size_t count, const SrTodayOptions* const options)
{
  SrSeries series = {.most_s = (double)INFINITY, .skips = true};
  const int day = sr_moment_day(sr_moment_now());
  const bool rested = sources->played_s < SR_TODAY_REST_S;
  size_t done = 0;
  int status = SR_EXIT_DONE;
  bool over = false;
  if (!rested) {
    say_rest();
  }
  for (size_t i = 0; i < count && !over; ++i) {
    char spoken[SR_TODAY_NAME_SIZE + 64];
    const size_t before = series.rounds;
    announce(sources, items, i, count, spoken, sizeof(spoken));
    series.announcement = spoken;
    const int own = play_item(sources, &items[i], options, &series);
    const bool played = series.rounds > before;
    done += played ? 1 : 0;
    status = own ? own : status;
    over = own == SR_EXIT_DEVICE || series.ended == SR_SERIES_QUIT ||
           (series.ended == SR_SERIES_SILENCE && !played);
  }
  sum_up(&series, done, count);
  if (series.rounds == 0 && !status && series.ended == SR_SERIES_SILENCE) {
    sr_say_line("steadyreed: No round was heard.");
    status = SR_EXIT_NOT_JUDGED;
  }
  if (rested && sources->played_s < SR_TODAY_REST_S && sr_today_played_s(day) >= SR_TODAY_REST_S) {
    say_rest();
  }
  return status;
}
