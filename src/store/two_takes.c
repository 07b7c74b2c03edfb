// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/two_takes.h>

#include "chance.h"

#include <steadyreed/history.h>

#include <math.h>
#include <stdlib.h>

/// The two takes.
#define TAKES 2u

/// Values of single notes.
typedef struct {
  double* values[TAKES];
  size_t count[TAKES];
} Notes;

/// Share of the notes that are right, and the mean of the scores there are.
static double
quality(const SrRound* const round)
{
  const double each[] = {round->scores.cuts, round->scores.evenness, round->scores.air};
  double sum = 0.0;
  unsigned count = 0;
  for (size_t i = 0; i < sizeof(each) / sizeof(each[0]); ++i) {
    if (isfinite(each[i])) {
      sum += each[i];
      ++count;
    }
  }
  const SrRoundFigures figures = sr_round_figures(round);
  const double right = figures.notes ? (double)figures.notes_right / figures.notes : 0.0;
  return count ? sum / count * right : 0.0;
}

size_t
sr_best_round(const SrPlayedRounds played)
{
  size_t best = 0;
  for (size_t i = 1; i < played.count; ++i) {
    const double difference = quality(&played.rounds[i]) - quality(&played.rounds[best]);
    const bool faster = played.rounds[i].pulse.played_bpm > played.rounds[best].pulse.played_bpm;
    best = difference > 0.0 || (!(difference < 0.0) && faster) ? i : best;
  }
  return best;
}

/// One number of a round.
typedef double Number(const SrRound* round);

static double
tempo(const SrRound* const round)
{
  return round->pulse.played_bpm;
}

static double
spread(const SrRound* const round)
{
  return round->pulse.spread_ms;
}

static double
offset(const SrRound* const round)
{
  return round->pulse.mean_offset_ms;
}

static double
score_cuts(const SrRound* const round)
{
  return round->scores.cuts;
}

static double
score_evenness(const SrRound* const round)
{
  return round->scores.evenness;
}

static double
score_air(const SrRound* const round)
{
  return round->scores.air;
}

/// Mean over the rounds that have a number; NAN without any.
static double
mean_of(const SrPlayedRounds played, Number* const number)
{
  double sum = 0.0;
  size_t count = 0;
  for (size_t i = 0; i < played.count; ++i) {
    const double value = number(&played.rounds[i]);
    if (isfinite(value)) {
      sum += value;
      ++count;
    }
  }
  return count ? sum / (double)count : (double)NAN;
}

static double
fastest_clean(const SrPlayedRounds played)
{
  double fastest = (double)NAN;
  for (size_t i = 0; i < played.count; ++i) {
    if (played.rounds[i].clean) {
      fastest = fmax(fastest, played.rounds[i].pulse.played_bpm);
    }
  }
  return fastest;
}

/// Add the values of a round to those of a take.
typedef void AddNotes(const SrPhrase* phrase, const SrRound* round, double* values, size_t* count);

/// Each interval between onsets, against its written length: seconds of a whole note.
static void
add_intervals(const SrPhrase* const phrase, const SrRound* const round, double* const values,
              size_t* const count)
{
  for (size_t i = 0; i + 1 < round->note_count; ++i) {
    const double from_s = round->notes[i].onset_s;
    const double to_s = round->notes[i + 1].onset_s;
    const double length = sr_fraction_value(sr_phrase_note(phrase, i + 1)->start) -
                          sr_fraction_value(sr_phrase_note(phrase, i)->start);
    if (isfinite(from_s) && isfinite(to_s) && to_s > from_s && length > 0.0) {
      values[(*count)++] = (to_s - from_s) / length;
    }
  }
}

/// Mean of the offsets of a round; NAN without any.
static double
mean_offset(const SrRound* const round)
{
  double sum = 0.0;
  size_t count = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    if (isfinite(round->notes[i].offset_ms)) {
      sum += round->notes[i].offset_ms;
      ++count;
    }
  }
  return count ? sum / (double)count : (double)NAN;
}

/// The size of each offset, from their mean.
static void
add_sizes(const SrPhrase* const phrase, const SrRound* const round, double* const values,
          size_t* const count)
{
  (void)phrase;
  const double mean = mean_offset(round);
  for (size_t i = 0; i < round->note_count; ++i) {
    if (isfinite(round->notes[i].offset_ms)) {
      values[(*count)++] = fabs(round->notes[i].offset_ms - mean);
    }
  }
}

/// Each offset from the click.
static void
add_offsets(const SrPhrase* const phrase, const SrRound* const round, double* const values,
            size_t* const count)
{
  (void)phrase;
  const double mean = mean_offset(round);
  for (size_t i = 0; i < round->note_count && isfinite(round->pulse.mean_offset_ms); ++i) {
    if (isfinite(round->notes[i].offset_ms)) {
      values[(*count)++] = round->notes[i].offset_ms - mean + round->pulse.mean_offset_ms;
    }
  }
}

/// Test a figure over the notes.
static SrTwoFound
test_notes(const SrPhrase* const phrase, const SrPlayedRounds played[TAKES], Number* const number,
           AddNotes* const add, Notes* const notes)
{
  SrTwoFound found = {.chance = (double)NAN};
  for (size_t t = 0; t < TAKES; ++t) {
    found.value[t] = mean_of(played[t], number);
    notes->count[t] = 0;
    for (size_t i = 0; i < played[t].count; ++i) {
      add(phrase, &played[t].rounds[i], notes->values[t], &notes->count[t]);
    }
  }
  if (isfinite(found.value[0]) && isfinite(found.value[1])) {
    found.chance =
        sr_chance_ranks(notes->values[0], notes->count[0], notes->values[1], notes->count[1]);
  }
  return found;
}

/// Number of some things, of all, in a round.
typedef void CountShare(const SrRoundFigures* figures, SrShare* share);

static void
count_notes(const SrRoundFigures* const figures, SrShare* const share)
{
  share->some += figures->notes_right;
  share->of += figures->notes;
}

static void
count_cuts(const SrRoundFigures* const figures, SrShare* const share)
{
  share->some += figures->cuts_clean;
  share->of += figures->cuts;
}

static void
count_air(const SrRoundFigures* const figures, SrShare* const share)
{
  share->some += figures->air_heard;
  share->of += figures->air;
}

static SrTwoFound
test_share(const SrPlayedRounds played[TAKES], CountShare* const add)
{
  SrTwoFound found = {.chance = (double)NAN};
  SrShare shares[TAKES] = {{0, 0}, {0, 0}};
  for (size_t t = 0; t < TAKES; ++t) {
    for (size_t i = 0; i < played[t].count; ++i) {
      const SrRoundFigures figures = sr_round_figures(&played[t].rounds[i]);
      add(&figures, &shares[t]);
    }
    shares[t].some = shares[t].some < shares[t].of ? shares[t].some : shares[t].of;
    found.some[t] = shares[t].some;
    found.of[t] = shares[t].of;
    found.value[t] = shares[t].of ? 100.0 * shares[t].some / shares[t].of : (double)NAN;
  }
  if (shares[0].of && shares[1].of) {
    found.chance = sr_chance_shares(shares[0], shares[1]);
  }
  return found;
}

/// A figure that is only shown.
static SrTwoFound
show_only(const SrPlayedRounds played[TAKES], Number* const number)
{
  return (SrTwoFound){.value = {mean_of(played[0], number), mean_of(played[1], number)},
                      .chance = (double)NAN};
}

/// Holm's method, as in trend.c: the smallest chance against the level by the number of tests, the
/// next by one less, and so on up to the first that does not stand.
static void
tell_by_holm(SrTwoFound figures[SR_TWO_FIGURES])
{
  size_t left = 0;
  for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
    left += isfinite(figures[i].chance) ? 1 : 0;
  }
  for (; left > 0; --left) {
    SrTwoFound* least = NULL;
    for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
      if (isfinite(figures[i].chance) && !figures[i].told &&
          (!least || figures[i].chance < least->chance)) {
        least = &figures[i];
      }
    }
    if (!least || least->chance > SR_TWO_BY_CHANCE / (double)left) {
      return;
    }
    least->told = true;
  }
}

static bool
fits(const SrPhrase* const phrase, const SrPlayedRounds played)
{
  bool same = played.count > 0;
  for (size_t i = 0; i < played.count; ++i) {
    same = same && played.rounds[i].note_count == sr_phrase_note_count(phrase);
  }
  return same;
}

SrStatus
sr_two_takes_compare(const SrPhrase* const phrase, const SrPlayedRounds played[TAKES],
                     SrTwoTakes* const two, SrError* const error)
{
  *two = (SrTwoTakes){.rounds = {played[0].count, played[1].count}};
  if (!fits(phrase, played[0]) || !fits(phrase, played[1])) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "The two takes are not of the same phrase.");
  }
  Notes notes = {{NULL, NULL}, {0, 0}};
  for (size_t t = 0; t < TAKES; ++t) {
    two->best[t] = sr_best_round(played[t]);
    notes.values[t] =
        (double*)calloc(played[t].count * sr_phrase_note_count(phrase) + 1, sizeof(double));
  }
  SrTwoFound* const figures = two->figures;
  const bool room = notes.values[0] && notes.values[1];
  if (room) {
    figures[SR_TWO_TEMPO] = test_notes(phrase, played, tempo, add_intervals, &notes);
    figures[SR_TWO_SPREAD] = test_notes(phrase, played, spread, add_sizes, &notes);
    figures[SR_TWO_OFFSET] = test_notes(phrase, played, offset, add_offsets, &notes);
    figures[SR_TWO_NOTES] = test_share(played, count_notes);
    figures[SR_TWO_CUTS] = test_share(played, count_cuts);
    figures[SR_TWO_AIR] = test_share(played, count_air);
    figures[SR_TWO_CLEAN_BPM] = (SrTwoFound){
        .value = {fastest_clean(played[0]), fastest_clean(played[1])}, .chance = (double)NAN};
    figures[SR_TWO_SCORE_CUTS] = show_only(played, score_cuts);
    figures[SR_TWO_SCORE_EVENNESS] = show_only(played, score_evenness);
    figures[SR_TWO_SCORE_AIR] = show_only(played, score_air);
    tell_by_holm(figures);
  }
  free(notes.values[0]);
  free(notes.values[1]);
  return room ? SR_OK
              : sr_error_set(error, SR_NO_MEMORY,
                             "There is not enough memory to compare the two takes.");
}
