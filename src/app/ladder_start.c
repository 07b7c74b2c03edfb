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

/// Tempo of the last clean round of a phrase; NAN if there is none.
static double
last_clean_bpm(SrHistory* const history, const SrPhrase* const phrase,
               const SrHistoryPhrase* const known, const size_t known_count)
{
  char identity[SR_IDENTITY_SIZE];
  double bpm = (double)NAN;
  sr_phrase_identity(phrase, identity);
  for (size_t i = 0; i < known_count; ++i) {
    if (!strcmp(known[i].identity, identity) &&
        sr_history_last_clean_bpm(history, known[i].id, &bpm, NULL) != SR_OK) {
      bpm = (double)NAN;
    }
  }
  return bpm;
}

/// Tempo of the last clean round of the first phrase that has one; NAN if none has.
static double
first_clean_bpm(const SrPhrase* const* const phrases, const size_t count)
{
  double bpm = (double)NAN;
  SrHistory* history = NULL;
  SrHistoryPhrase* known = NULL;
  size_t known_count = 0;
  if (sr_history_open(NULL, SR_HISTORY_LOOK, &history, NULL) == SR_OK &&
      sr_history_phrases(history, &known, &known_count, NULL) == SR_OK) {
    for (size_t i = 0; i < count && isnan(bpm); ++i) {
      bpm = last_clean_bpm(history, phrases[i], known, known_count);
    }
  }
  sr_history_phrases_del(known, known_count);
  sr_history_close(history);
  return bpm;
}

SrLadderTempo
sr_ladder_start(const SrPhrase* const* const phrases, const size_t count, const double top_bpm,
                const double from_bpm)
{
  double start = isnan(from_bpm) ? first_clean_bpm(phrases, count) : from_bpm;
  start = isnan(start) ? START_SHARE * top_bpm : start;
  return (SrLadderTempo){start, fmin(start, LEAST_SHARE * top_bpm), top_bpm};
}

SrLadderTempo
sr_drill_start(const SrPhrase* const phrase, const double own_bpm, bool* const known)
{
  const double clean = first_clean_bpm(&phrase, 1);
  *known = isfinite(clean);
  const double start = *known ? clean : own_bpm;
  return (SrLadderTempo){start, fmin(start, LEAST_SHARE * own_bpm), SR_DRILL_TOP_SHARE * own_bpm};
}
