// SPDX-License-Identifier: GPL-3.0-or-later

#include "guesses.h"

#include "say.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>

/// Guesses are called sure and likely from here up.
#define SURE 0.95
#define LIKELY 0.75
/// Most rounds whose times are told.
#define MOST_ROUNDS 6u

static const char*
say_sure(const double sure)
{
  return sure > SURE ? "sure" : sure > LIKELY ? "likely" : "unsure";
}

/// "; OPTION changes it" where that may be needed; free it with g_free().
static char*
change(const bool asked, const double sure, const char* const option)
{
  return asked || sure > SURE ? g_strdup("") : g_strdup_printf("; %s changes it", option);
}

static void
say_tempo(const SrScoreWish* const wish, const SrScore* const score)
{
  const bool asked = isfinite(wish->tempo_bpm);
  const bool told = asked || score->clicked || score->sure_tempo > SURE;
  char other[96] = "";
  if (!told && isfinite(score->other_bpm)) {
    const double ratio = score->other_bpm / score->tempo_bpm;
    const char* const tap = score->other_meter             ? " in another meter"
                            : ratio > 1.8 && ratio < 2.2   ? " if you tap twice as fast"
                            : ratio > 0.45 && ratio < 0.55 ? " if you tap half as fast"
                                                           : "";
    g_snprintf(other, sizeof(other), ", or %.0f%s", score->other_bpm, tap);
  }
  char* const option = change(told, score->sure_tempo, "--tempo");
  sr_say_format(stderr, "Tempo %.0f pulses a minute%s: %s%s; notes lie within %.0f ms of it\n",
                score->tempo_bpm, other,
                asked            ? "as asked"
                : score->clicked ? "by the metronome in the recording"
                                 : say_sure(score->sure_tempo),
                option, 1e3 * score->off_s);
  g_free(option);
}

static void
say_first_bar(const SrScoreWish* const wish, const SrScore* const score)
{
  const bool asked = isfinite(wish->upbeat_quavers);
  const double quavers = (double)score->upbeat / SR_SCORE_PLACES;
  char* const option = change(asked, score->sure_upbeat, "--upbeat");
  char* const what = score->upbeat == 0
                         ? g_strdup("The first note begins a bar")
                         : g_strdup_printf("An upbeat of %g quaver%s", quavers,
                                           score->upbeat == SR_SCORE_PLACES ? "" : "s");
  sr_say_format(stderr, "%s: %s%s\n", what, asked ? "as asked" : say_sure(score->sure_upbeat),
                option);
  g_free(what);
  g_free(option);
}

/// "2 of 6 cuts doubtful: bars 1 and 3".
static void
say_doubtful(const SrScore* const score, const size_t cuts)
{
  const long bar = (long)SR_SCORE_PLACES * 8 * score->meter_beats / score->meter_unit;
  GString* const bars = g_string_new(NULL);
  size_t count = 0;
  size_t places = 0;
  long last = -1;
  for (size_t i = 0; i < score->count; ++i) {
    if (score->notes[i].doubtful) {
      const long number = score->notes[i].start / bar + (score->upbeat == 0);
      ++count;
      if (number != last) {
        g_string_append_printf(bars, "%s%ld", places++ ? ", " : "", number);
        last = number;
      }
    }
  }
  if (count > 0) {
    sr_say_format(stderr, "%zu of %zu cuts doubtful: bar%s %s\n", count, cuts,
                  places == 1 ? "" : "s", bars->str);
  }
  g_string_free(bars, TRUE);
}

static void
say_rounds(const SrScore* const score)
{
  double starts_s[MOST_ROUNDS];
  const size_t count = sr_score_rounds(score, starts_s, MOST_ROUNDS);
  if (count < 2) {
    return;
  }
  GString* const times = g_string_new(NULL);
  for (size_t i = 0; i < count; ++i) {
    const int seconds = (int)starts_s[i];
    g_string_append_printf(times, "%s%d:%02d",
                           i == 0           ? ""
                           : i + 1 == count ? " and "
                                            : ", ",
                           seconds / 60, seconds % 60);
  }
  if (count == 2) {
    sr_say_format(stderr, "The same notes come twice, from %s; --from and --to choose one\n",
                  times->str);
  } else {
    sr_say_format(stderr, "The same notes come %s%zu times, from %s; --from and --to choose one\n",
                  count == MOST_ROUNDS ? "at least " : "", count, times->str);
  }
  g_string_free(times, TRUE);
}

void
sr_say_guesses(const SrGuessesAsked* const asked, const SrScore* const score)
{
  const SrScoreWish* const wish = asked->wish;
  size_t cuts = 0;
  size_t breaks = 0;
  for (size_t i = 0; i < score->count; ++i) {
    cuts += score->notes[i].played.grace_count > 0;
    breaks += score->notes[i].breaks;
  }
  sr_say_format(stderr, "%zu notes, %zu with a cut or a strike%s\n", score->count, cuts,
                breaks ? "; where playing broke off a new line begins" : "");
  say_doubtful(score, cuts);
  say_rounds(score);
  char* option = change(wish->meter_beats, score->sure_meter, "--meter");
  sr_say_format(stderr, "Meter %d/%d: %s%s\n", score->meter_beats, score->meter_unit,
                wish->meter_beats ? "as asked" : say_sure(score->sure_meter), option);
  g_free(option);
  say_first_bar(wish, score);
  say_tempo(wish, score);
  option = change(wish->key, score->sure_key, "--key");
  sr_say_format(stderr, "Key %s: %s%s\n", score->key,
                wish->key ? "as asked" : say_sure(score->sure_key), option);
  g_free(option);
  const bool guessed = asked->octaves == SR_OCTAVES_GUESS;
  sr_say_format(stderr, "%s: %s%s\n", score->doubled ? "In octaves" : "Single notes",
                !guessed         ? "as asked"
                : score->doubled ? "likely; --octaves no changes it"
                                 : "likely; --octaves yes changes it",
                score->doubled ? "; the upper notes are written" : "");
  sr_say_format(stderr, "The box's A is %.1f Hz%s\n", score->reference_hz,
                score->renamed && isnan(wish->reference_hz)
                    ? ": notes lie between two names, and this one fits the key; --reference "
                      "changes it"
                    : "");
}
