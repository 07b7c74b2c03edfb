// SPDX-License-Identifier: GPL-3.0-or-later

#include "ladder_climb.h"

#include "chosen_phrase.h"
#include "command.h"
#include "event_lines.h"
#include "ladder_start.h"
#include "say.h"

#include <steadyreed/planned_places.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <stdio.h>

/// A ladder on its way.
typedef struct {
  const SrLadderClimb* climb;
  const SrPractiseShow* how;
  SrLadder* ladder;
  SrPhrase* whole; ///< All bars, each once
} Way;

static void
write_line(const Way* const way, const SrLadderRung* const rung)
{
  if (way->how->json) {
    sr_event_line_ladder(stdout, way->whole, rung);
  }
}

/// After a round: what the ladder says.
static SrNextStep
after_round(void* const data, const SrRound* const round)
{
  const Way* const way = (const Way*)data;
  const SrLadderRung rung = sr_ladder_round(way->ladder, sr_ladder_grade(round));
  SrNextStep step = {.bpm = (double)NAN};
  switch (rung.moved) {
  case SR_LADDER_SAME:
    step.quietly = true;
    break;
  case SR_LADDER_UP:
  case SR_LADDER_DOWN:
    step.bpm = rung.bpm;
    break;
  case SR_LADDER_NEXT:
  case SR_LADDER_JOINED:
  case SR_LADDER_APART:
    step.leave = true;
    break;
  case SR_LADDER_DONE:
    break;
  }
  if (rung.moved != SR_LADDER_SAME) {
    sr_ladder_words(way->whole, &rung, step.words);
  } else if (rung.clean > 0) {
    sr_ladder_clean_words(&rung, step.words);
  }
  write_line(way, &rung);
  return step;
}

/// Read the bars of a rung, plan them if that is wanted, and practise them.
static int
play_rung(const Way* const way, const SrLadderRung* const rung, const unsigned rounds,
          SrSeries* const series)
{
  const SrLadderClimb* const climb = way->climb;
  const SrBarSpan bars = sr_ladder_rung_bars(way->whole, rung);
  const SrBarSpan all = sr_ladder_all_bars(way->whole);
  SrPhraseChoice choice = *climb->choice;
  choice.first_bar = bars.last > 0 ? bars.first : all.first;
  choice.last_bar = bars.last > 0 ? bars.last : all.last;
  SrError error = {0};
  SrPhrase* phrase = NULL;
  if (sr_phrase_read_file(climb->path, &choice, &phrase, &error) != SR_OK) {
    sr_say_error(&error);
    series->ended = SR_SERIES_TROUBLE;
    return SR_EXIT_NOT_JUDGED;
  }
  SrSessionSettings settings = *climb->settings;
  settings.judge.target_bpm = rung->bpm;
  settings.rounds = rounds;
  char** places = NULL;
  SrPlanOptions plan = *climb->plan;
  if (series->greeted) {
    plan.remembered = (SrPreferences){0}; // said already
  }
  int status = sr_plan_options_places(&plan, climb->command, true, rung->bpm, phrase, &places);
  if (!status) {
    const SrPractice origin = {.file = climb->path,
                               .choice = choice,
                               .layout = places ? climb->plan->wish.layout : NULL,
                               .style = places ? climb->plan->wish.style : NULL};
    settings.judge.places = (const char* const*)places;
    status = sr_practise(phrase, &settings, &origin, way->how, series);
  } else {
    series->ended = SR_SERIES_TROUBLE;
  }
  sr_plan_places_del(phrase, places);
  sr_phrase_del(phrase);
  return status;
}

/// One session after another, until one ends for another reason than that the bars change.
static int
play(Way* const way, SrSeries* const series)
{
  const double most_s = series->most_s;
  const unsigned rounds = way->climb->settings->rounds;
  const size_t before = series->rounds;
  double spent_s = 0.0;
  int status = SR_EXIT_DONE;
  series->after_round = after_round;
  series->context = way;
  do {
    const SrLadderRung rung = sr_ladder_now(way->ladder);
    const unsigned played = (unsigned)(series->rounds - before);
    series->most_s = most_s - spent_s;
    status = play_rung(way, &rung, rounds ? rounds - played : 0, series);
    series->announcement = NULL;
    spent_s += series->length_s;
  } while (!status && series->ended == SR_SERIES_LEFT && spent_s < most_s &&
           (!rounds || series->rounds - before < rounds));
  series->most_s = most_s;
  return status;
}

/// Some of the bars, each once. NULL if they cannot be read, which is said.
static SrPhrase*
read_bars(const SrLadderClimb* const climb, const SrBarSpan bars)
{
  SrPhraseChoice choice = *climb->choice;
  choice.first_bar = bars.first;
  choice.last_bar = bars.last;
  SrError error = {0};
  SrPhrase* once = NULL;
  if (sr_phrase_read_file(climb->path, &choice, &once, &error) != SR_OK) {
    sr_say_error(&error);
  }
  return once;
}

/// Begin a ladder, and say so. 0, or an exit status of an error, which was reported.
static int
begin(Way* const way, const SrPhrase* const phrase)
{
  const SrLadderClimb* const climb = way->climb;
  const double asked = climb->settings->judge.target_bpm;
  const double top = round(isfinite(asked) ? asked : sr_sound_tempo(phrase));
  if (climb->from_bpm > top) {
    return sr_say_usage(climb->command,
                        "--ladder-from %.0f is over the tempo that the ladder goes up to, %.0f.",
                        climb->from_bpm, top);
  }
  const SrBarSpan first_bars = sr_ladder_first_bars(way->whole);
  SrPhrase* const first = first_bars.last > 0 ? read_bars(climb, first_bars) : NULL;
  const SrPhrase* const phrases[] = {phrase, way->whole, first};
  const SrLadderTempo tempo = sr_ladder_start(phrases, 3, top, climb->from_bpm);
  sr_phrase_del(first);
  SrError error = {0};
  if (sr_ladder_new(way->whole, &tempo, false, &way->ladder, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  const SrLadderRung rung = sr_ladder_now(way->ladder);
  if (!way->how->json) {
    char words[SR_LADDER_WORDS_SIZE];
    sr_say_indented(stdout, 2, "A tempo ladder up to %.0f. %s", top,
                    sr_ladder_words(way->whole, &rung, words));
    fflush(stdout);
  }
  write_line(way, &rung);
  return 0;
}

int
sr_ladder_climb(const SrLadderClimb* const climb, const SrPractiseShow* const how,
                SrSeries* const series)
{
  Way way = {.climb = climb, .how = how};
  series->ended = SR_SERIES_TROUBLE;
  SrPhrase* const phrase = sr_chosen_phrase_read(climb->path, climb->choice);
  way.whole = phrase ? read_bars(climb, sr_ladder_all_bars(phrase)) : NULL;
  int status = SR_EXIT_NOT_JUDGED;
  if (way.whole) {
    status = begin(&way, phrase);
    status = status ? status : play(&way, series);
  }
  sr_ladder_del(way.ladder);
  sr_phrase_del(way.whole);
  sr_phrase_del(phrase);
  return status;
}
