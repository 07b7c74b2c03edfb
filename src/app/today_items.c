// SPDX-License-Identifier: GPL-3.0-or-later

#include "today_items.h"

#include "ladder_start.h"
#include "rounds_words.h"

#include <steadyreed/sound.h>

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

SrLadderTempo
sr_today_tempo(const SrTodaySources* const sources, const SrTodayItem* const item)
{
  const char* const path = sources->places[item->source].path;
  SrLadderTempo tempo = {(double)NAN, (double)NAN, (double)NAN};
  SrPhraseChoice choice = sr_today_item_choice(sources, item);
  SrPhrase* phrase = NULL;
  SrPhrase* once = NULL;
  if (sr_phrase_read_file(path, &choice, &phrase, NULL) != SR_OK) {
    return tempo;
  }
  const double own_bpm = sr_sound_tempo(phrase);
  if (item->kind != SR_TODAY_BARS) {
    bool known = false;
    tempo = sr_drill_start(phrase, own_bpm, &known);
  } else {
    const SrBarSpan bars = sr_ladder_all_bars(phrase);
    choice.first_bar = bars.first;
    choice.last_bar = bars.last;
    (void)sr_phrase_read_file(path, &choice, &once, NULL);
    const SrPhrase* const phrases[] = {phrase, once};
    tempo = sr_ladder_start(phrases, 2, round(own_bpm), (double)NAN);
  }
  sr_phrase_del(once);
  sr_phrase_del(phrase);
  return tempo;
}

static const char*
task_of(const SrTodayKind kind)
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
sr_today_task(const SrTodayKind kind, const SrLadderTempo* const tempo,
              char words[SR_TODAY_TASK_SIZE])
{
  const double from = round(fmin(tempo->start_bpm, tempo->most_bpm));
  const double to = round(tempo->most_bpm);
  const char* const comma = kind == SR_TODAY_BARS ? "" : ",";
  if (isnan(from) || isnan(to)) {
    snprintf(words, SR_TODAY_TASK_SIZE, "%s", task_of(kind));
  } else if (from < to) {
    snprintf(words, SR_TODAY_TASK_SIZE, "%s%s from %.0f, towards %.0f", task_of(kind), comma, from,
             to);
  } else {
    snprintf(words, SR_TODAY_TASK_SIZE, "%s%s at %.0f", task_of(kind), comma, to);
  }
  return words;
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

/// Whether the bars of an item, and others, were played in a source.
static bool
is_around(const SrTodayPlace* const source, const SrTodayPlace* const place,
          const SrTodayItem* const item)
{
  return source->kind == SR_TODAY_BARS && source->number == place->number &&
         source->transposed == place->transposed && !is_within(source, place, item) &&
         source->practised_first <= item->first_bar && source->practised_last >= item->last_bar &&
         is_same_file(source->path, place->path);
}

static void
add_day(const SrTodayPlace* const place, const int day, unsigned* const rounds,
        double* const seconds)
{
  for (size_t i = 0; i < place->day_count; ++i) {
    if (place->days[i].day == day) {
      *rounds += place->days[i].rounds;
      *seconds += place->days[i].seconds;
    }
  }
}

SrTodayPlayed
sr_today_played(const SrTodaySources* const sources, const SrTodayItem* const item, const int day)
{
  const SrTodayPlace* const place = &sources->places[item->source];
  unsigned rounds = 0;
  double seconds = 0.0;
  for (size_t i = 0; i < sources->count; ++i) {
    const SrTodayPlace* const source = &sources->places[i];
    if (item->kind == SR_TODAY_BARS ? is_within(source, place, item) : source == place) {
      add_day(source, day, &rounds, &seconds);
    }
  }
  return (SrTodayPlayed){.rounds = rounds,
                         .done = rounds > 0 &&
                                 (seconds >= 0.5 * 60.0 * item->minutes ||
                                  (double)rounds >= SR_TODAY_ROUNDS_A_MINUTE * item->minutes)};
}

bool
sr_today_in_longer(const SrTodaySources* const sources, const SrTodayItem* const item,
                   const int day)
{
  unsigned rounds = 0;
  double seconds = 0.0;
  for (size_t i = 0; item->kind == SR_TODAY_BARS && i < sources->count; ++i) {
    if (is_around(&sources->places[i], &sources->places[item->source], item)) {
      add_day(&sources->places[i], day, &rounds, &seconds);
    }
  }
  return rounds > 0;
}

const char*
sr_today_sum(const SrTodaySum* const sum, char words[SR_TODAY_SUM_SIZE])
{
  const double minutes = sum->played_s / 60.0;
  char time[32];
  snprintf(time, sizeof(time), minutes < 1.0 ? "less than a minute" : "%.0f minute%s", minutes,
           round(minutes) == 1.0 ? "" : "s");
  char rounds[SR_ROUNDS_WORDS_SIZE];
  snprintf(words, SR_TODAY_SUM_SIZE, "%s, %s of playing.",
           sr_rounds_words(sum->rounds, sum->clean, rounds), time);
  return words;
}
