// SPDX-License-Identifier: GPL-3.0-or-later

#include "today_run.h"

#include "chosen_phrase.h"
#include "command.h"
#include "drill_climb.h"
#include "ladder_climb.h"
#include "say.h"
#include "today_items.h"

#include <steadyreed/planned_places.h>

#include <math.h>
#include <stdio.h>

static const char name[] = "today";

/// Practise a drill, faster from day to day.
static int
play_drill(const char* const path, const SrPhraseChoice* const choice,
           const SrTodayOptions* const options, const SrSessionSettings* const settings,
           const SrPractiseShow* const how, SrSeries* const series)
{
  SrPhrase* const phrase = sr_chosen_phrase_read(path, choice);
  if (!phrase) {
    return SR_EXIT_NOT_JUDGED;
  }
  char** places = NULL;
  int status = sr_plan_options_places(&options->plan, name, false, (double)NAN, phrase, &places);
  if (!status) {
    const SrPractice origin = {.file = path,
                               .choice = *choice,
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
  sr_today_item_settings(item, &settings);
  series->most_s = sr_today_item_s(item, &settings);
  series->after_round = NULL;
  series->ended = SR_SERIES_TROUBLE;
  const SrPhraseChoice choice = sr_today_item_choice(sources, item);
  if (item->kind != SR_TODAY_BARS) {
    return play_drill(place->path, &choice, options, &settings, &how, series);
  }
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
         const size_t count, char spoken[SR_TODAY_SPOKEN_SIZE])
{
  const SrTodayItem* const item = &items[index];
  char title[SR_TODAY_NAME_SIZE];
  if (index > 0) {
    sr_say_text(stdout, "\n");
  }
  sr_say_indented(stdout, 2, "%zu of %zu: %s, %.0f minutes: %s.", index + 1, count,
                  sr_today_name(sources, item, title), ceil(item->minutes),
                  sr_today_task(item->kind));
  fflush(stdout);
  sr_today_announce(sources, item, index == 0, spoken);
}

static void
say_rest(void)
{
  sr_say_paragraph(stdout, 0, sr_today_rest_words);
  sr_say_text(stdout, "\n");
}

static void
sum_up(const SrSeries* const series, const size_t done, const size_t count)
{
  char words[SR_TODAY_SUM_SIZE];
  const SrTodaySum sum = {.done = done,
                          .count = count,
                          .rounds = series->rounds,
                          .clean = series->clean,
                          .played_s = series->played_s};
  sr_say_text(stdout, "\n");
  sr_say_indented(stdout, 2, "Done: %zu of %zu, %s", done, count, sr_today_sum(&sum, words));
}

int
sr_today_play(const SrTodaySources* const sources, const SrTodayItem* const items,
              const size_t count, const SrTodayOptions* const options)
{
  SrSeries series = {.most_s = (double)INFINITY, .skips = true};
  size_t done = 0;
  int status = SR_EXIT_DONE;
  bool over = false;
  if (sources->played_s >= SR_TODAY_REST_S) {
    say_rest();
  }
  for (size_t i = 0; i < count && !over; ++i) {
    char spoken[SR_TODAY_SPOKEN_SIZE];
    const size_t before = series.rounds;
    announce(sources, items, i, count, spoken);
    series.announcement = spoken;
    const int own = play_item(sources, &items[i], options, &series);
    const bool played = series.rounds > before;
    done += played ? 1 : 0;
    status = own ? own : status;
    over = own == SR_EXIT_DEVICE || series.ended == SR_SERIES_QUIT ||
           sr_today_nobody_plays(series.ended == SR_SERIES_SILENCE, played);
  }
  sum_up(&series, done, count);
  if (series.rounds == 0 && !status && series.ended == SR_SERIES_SILENCE) {
    sr_say_line("steadyreed: No round was heard.");
    status = SR_EXIT_NOT_JUDGED;
  }
  return status;
}
