// SPDX-License-Identifier: GPL-3.0-or-later

#include "ladder_start.h"

#include <steadyreed/history.h>

#include <math.h>
#include <string.h>

/// It begins here, as a share of its top, and ends here (common practice, no source).
#define START_SHARE 0.8
#define LEAST_SHARE (2.0 / 3.0)

SrBarSpan
sr_ladder_all_bars(const SrPhrase* const phrase)
{
  SrBarSpan span = {0, 0};
  for (size_t i = 0; i < sr_phrase_bar_count(phrase); ++i) {
    const int number = sr_phrase_bar(phrase, i)->number;
    span.first = i == 0 || number < span.first ? number : span.first;
    span.last = number > span.last ? number : span.last;
  }
  return span;
}

SrBarSpan
sr_ladder_rung_bars(const SrPhrase* const phrase, const SrLadderRung* const rung)
{
  if (rung->bar_count >= sr_phrase_bar_count(phrase)) {
    return (SrBarSpan){0, 0};
  }
  return (SrBarSpan){sr_phrase_bar(phrase, rung->first_bar)->number,
                     sr_phrase_bar(phrase, rung->first_bar + rung->bar_count - 1)->number};
}

SrBarSpan
sr_ladder_first_bars(const SrPhrase* const phrase)
{
  // Which bars they are does not hang on the tempo
  const SrLadderTempo any = {60.0, (double)NAN, 60.0};
  SrLadder* ladder = NULL;
  if (sr_ladder_new(phrase, &any, false, &ladder, NULL) != SR_OK) {
    return (SrBarSpan){0, 0};
  }
  const SrLadderRung rung = sr_ladder_now(ladder);
  sr_ladder_del(ladder);
  return sr_ladder_rung_bars(phrase, &rung);
}

/// Where a phrase stands in the history, pulses a minute.
typedef struct {
  double clean; ///< Tempo of the last clean round; NAN if there is none
  double asked; ///< … that was asked for in the last round of all; NAN likewise
} Past;

/// The tempo that was last asked for.
static double
last_asked_bpm(SrHistory* const history, const SrHistoryPhrase* const known)
{
  const int day = sr_moment_day(known->last);
  SrHistoryRound* rounds = NULL;
  size_t count = 0;
  double bpm = (double)NAN;
  if (sr_history_rounds(history, known->id, day, day, &rounds, &count, NULL) == SR_OK) {
    for (size_t i = 0; i < count; ++i) {
      bpm = isfinite(rounds[i].asked_bpm) ? rounds[i].asked_bpm : bpm;
    }
  }
  sr_history_rounds_del(rounds, count);
  return bpm;
}

static Past
past_of(SrHistory* const history, const SrPhrase* const phrase, const SrHistoryPhrase* const known,
        const size_t known_count)
{
  char identity[SR_IDENTITY_SIZE];
  Past past = {(double)NAN, (double)NAN};
  sr_phrase_identity(phrase, identity);
  for (size_t i = 0; i < known_count; ++i) {
    if (!strcmp(known[i].identity, identity)) {
      if (sr_history_last_clean_bpm(history, known[i].id, &past.clean, NULL) != SR_OK) {
        past.clean = (double)NAN;
      }
      past.asked = last_asked_bpm(history, &known[i]);
    }
  }
  return past;
}

/// Of the first phrase that has it, each.
static Past
first_past(const SrPhrase* const* const phrases, const size_t count)
{
  Past first = {(double)NAN, (double)NAN};
  SrHistory* history = NULL;
  SrHistoryPhrase* known = NULL;
  size_t known_count = 0;
  if (sr_history_open(NULL, SR_HISTORY_LOOK, &history, NULL) == SR_OK &&
      sr_history_phrases(history, &known, &known_count, NULL) == SR_OK) {
    for (size_t i = 0; i < count; ++i) {
      const Past past = phrases[i] ? past_of(history, phrases[i], known, known_count) : first;
      first.clean = isfinite(first.clean) ? first.clean : past.clean;
      first.asked = isfinite(first.asked) ? first.asked : past.asked;
    }
  }
  sr_history_phrases_del(known, known_count);
  sr_history_close(history);
  return first;
}

/// Where to begin: where it was last clean; where it never was, no faster than it was last tried.
static double
start_of(const Past* const past, const double usual)
{
  return isfinite(past->clean) ? past->clean
                               : fmin(usual, isfinite(past->asked) ? past->asked : usual);
}

SrLadderTempo
sr_ladder_start(const SrPhrase* const* const phrases, const size_t count, const double top_bpm,
                const double from_bpm)
{
  const Past past = isnan(from_bpm) ? first_past(phrases, count) : (Past){from_bpm, (double)NAN};
  const double start = start_of(&past, START_SHARE * top_bpm);
  return (SrLadderTempo){start, fmin(start, LEAST_SHARE * top_bpm), top_bpm};
}

SrLadderTempo
sr_drill_start(const SrPhrase* const phrase, const double own_bpm, bool* const known)
{
  const Past past = first_past(&phrase, 1);
  const double start = start_of(&past, own_bpm);
  *known = isfinite(past.clean);
  return (SrLadderTempo){start, fmin(start, LEAST_SHARE * own_bpm), SR_DRILL_TOP_SHARE * own_bpm};
}
