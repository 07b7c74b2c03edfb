// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/two_takes.h>

#include "chance.h"

#include <steadyreed/history.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// The two takes.
#define TAKES 2u

/// Values of single notes of both takes, round after round.
typedef struct {
  double* values[TAKES];
  double* ranks;         ///< Of all, those of the first take first
  size_t* counts[TAKES]; ///< Values of each round
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

/// How a figure is tested over the notes.
typedef struct {
  Number* number;
  AddNotes* add;
  bool falls; ///< It is smaller as the values of the notes are larger
} Tested;

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

/// Add the values of both takes.
static void
add_all(const SrPhrase* const phrase, const SrPlayedRounds played[TAKES], AddNotes* const add,
        Notes* const notes)
{
  for (size_t t = 0; t < TAKES; ++t) {
    notes->count[t] = 0;
    for (size_t i = 0; i < played[t].count; ++i) {
      const size_t before = notes->count[t];
      add(phrase, &played[t].rounds[i], notes->values[t], &notes->count[t]);
      notes->counts[t][i] = notes->count[t] - before;
    }
  }
}

/// The chance by the notes, and by the rounds if there are enough to tell: the larger. None if what
/// is shown differs the other way than what was tested.
static double
larger(const double by_notes, const double by_rounds, const double tested, const double shown)
{
  return tested * shown < 0.0 ? 1.0 : isnan(by_rounds) ? by_notes : fmax(by_notes, by_rounds);
}

/// Test a figure over the notes, by their ranks.
static SrTwoFound
test_notes(const SrPhrase* const phrase, const SrPlayedRounds played[TAKES],
           const Tested* const how, Notes* const notes, bool* const room)
{
  SrTwoFound found = {.chance = (double)NAN};
  for (size_t t = 0; t < TAKES; ++t) {
    found.value[t] = mean_of(played[t], how->number);
  }
  if (!isfinite(found.value[0]) || !isfinite(found.value[1])) {
    return found;
  }
  add_all(phrase, played, how->add, notes);
  // Both takes' values in one list
  double* const all = notes->values[0];
  memcpy(all + notes->count[0], notes->values[1], notes->count[1] * sizeof(double));
  *room = sr_chance_rank(all, notes->count[0] + notes->count[1], notes->ranks) && *room;
  const SrByRound ranks[TAKES] = {
      {notes->ranks, notes->counts[0], played[0].count},
      {notes->ranks + notes->count[0], notes->counts[1], played[1].count}};
  double difference = (double)NAN;
  const double by_rounds = sr_chance_rounds(ranks, &difference);
  const double by_notes =
      sr_chance_ranks(notes->values[0], notes->count[0], notes->values[1], notes->count[1]);
  if (!isnan(by_notes)) {
    found.chance = larger(by_notes, by_rounds, how->falls ? -difference : difference,
                          found.value[1] - found.value[0]);
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

/// For each thing asked for 1 if it was so, else 0.
static void
add_things(const SrShare share, double* const values, size_t* const count)
{
  for (unsigned i = 0; i < share.of; ++i) {
    values[(*count)++] = i < share.some ? 1.0 : 0.0;
  }
}

/// Each note as right or not; neighbours that are not are one event, as one slip loses them all.
static void
add_events(const SrRound* const round, double* const values, size_t* const count)
{
  bool lost = false;
  for (size_t i = sr_round_beginning(round); i < round->note_count; ++i) {
    const SrNoteStatus status = round->notes[i].status;
    if (status != SR_NOTE_UNHEARD) {
      const bool right = status == SR_NOTE_PLAYED;
      if (right || !lost) {
        values[(*count)++] = right ? 1.0 : 0.0;
      }
      lost = !right;
    }
  }
}

/// Share of a take, and its values round by round.
static SrShare
count_take(const SrPlayedRounds played, const size_t most, CountShare* const add, const size_t t,
           Notes* const notes)
{
  SrShare all = {0, 0};
  notes->count[t] = 0;
  for (size_t i = 0; i < played.count; ++i) {
    const SrRound* const round = &played.rounds[i];
    const SrRoundFigures figures = sr_round_figures(round);
    const size_t before = notes->count[t];
    SrShare share = {0, 0};
    add(&figures, &share);
    share.of = share.of < most ? share.of : (unsigned)most;
    share.some = share.some < share.of ? share.some : share.of;
    all = (SrShare){all.some + share.some, all.of + share.of};
    if (add == count_notes) {
      add_events(round, notes->values[t], &notes->count[t]);
    } else {
      add_things(share, notes->values[t], &notes->count[t]);
    }
    notes->counts[t][i] = notes->count[t] - before;
  }
  return all;
}

/// How many of the values are 1.
static SrShare
share_of(const double* const values, const size_t count)
{
  SrShare share = {0, (unsigned)count};
  for (size_t i = 0; i < count; ++i) {
    share.some += values[i] > 0.5 ? 1 : 0;
  }
  return share;
}

static SrTwoFound
test_share(const SrPlayedRounds played[TAKES], CountShare* const add, const size_t most,
           Notes* const notes)
{
  SrTwoFound found = {.chance = (double)NAN};
  SrShare shares[TAKES];
  SrByRound things[TAKES];
  for (size_t t = 0; t < TAKES; ++t) {
    const SrShare all = count_take(played[t], most, add, t, notes);
    found.some[t] = all.some;
    found.of[t] = all.of;
    found.value[t] = all.of ? 100.0 * all.some / all.of : (double)NAN;
    shares[t] = share_of(notes->values[t], notes->count[t]);
    things[t] = (SrByRound){notes->values[t], notes->counts[t], played[t].count};
  }
  if (found.of[0] && found.of[1]) {
    double difference = (double)NAN;
    const double by_rounds = sr_chance_rounds(things, &difference);
    found.chance = larger(sr_chance_shares(shares[0], shares[1]), by_rounds, difference,
                          found.value[1] - found.value[0]);
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

/// Tell what stands among all figures tested, if it can be seen in what is shown.
static void
tell(SrTwoFound figures[SR_TWO_FIGURES])
{
  double chances[SR_TWO_FIGURES];
  bool told[SR_TWO_FIGURES];
  for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
    chances[i] = figures[i].chance;
  }
  sr_chance_holm(chances, SR_TWO_FIGURES, SR_TWO_BY_CHANCE, told);
  for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
    // As printed: "96, not 96" tells nobody anything
    const double shown = rint(figures[i].value[1]) - rint(figures[i].value[0]);
    figures[i].told = told[i] && fabs(shown) > 0.5;
  }
}

static void
clear_notes(Notes* const notes)
{
  for (size_t t = 0; t < TAKES; ++t) {
    free(notes->values[t]);
    free(notes->counts[t]);
  }
  free(notes->ranks);
}

/// Room for the values of both takes.
static bool
make_notes(const SrPlayedRounds played[TAKES], const size_t most, Notes* const notes)
{
  // The first list takes the values of both, to be ranked
  const size_t all = (played[0].count + played[1].count) * most + 1;
  *notes = (Notes){.ranks = (double*)calloc(all, sizeof(double))};
  bool room = notes->ranks != NULL;
  for (size_t t = 0; t < TAKES; ++t) {
    notes->values[t] = (double*)calloc(all, sizeof(double));
    notes->counts[t] = (size_t*)calloc(played[t].count + 1, sizeof(size_t));
    room = room && notes->values[t] && notes->counts[t];
  }
  return room;
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
  for (size_t t = 0; t < TAKES; ++t) {
    two->best[t] = sr_best_round(played[t]);
  }
  static const Tested tested_tempo = {tempo, add_intervals, true};
  static const Tested tested_spread = {spread, add_sizes, false};
  static const Tested tested_offset = {offset, add_offsets, false};
  const size_t most = sr_phrase_note_count(phrase);
  SrTwoFound* const figures = two->figures;
  Notes notes;
  bool room = make_notes(played, most, &notes);
  if (room) {
    figures[SR_TWO_TEMPO] = test_notes(phrase, played, &tested_tempo, &notes, &room);
    figures[SR_TWO_SPREAD] = test_notes(phrase, played, &tested_spread, &notes, &room);
    figures[SR_TWO_OFFSET] = test_notes(phrase, played, &tested_offset, &notes, &room);
    figures[SR_TWO_NOTES] = test_share(played, count_notes, most, &notes);
    figures[SR_TWO_CUTS] = test_share(played, count_cuts, most, &notes);
    figures[SR_TWO_AIR] = test_share(played, count_air, most, &notes);
    figures[SR_TWO_CLEAN_BPM] = (SrTwoFound){
        .value = {fastest_clean(played[0]), fastest_clean(played[1])}, .chance = (double)NAN};
    figures[SR_TWO_SCORE_CUTS] = show_only(played, score_cuts);
    figures[SR_TWO_SCORE_EVENNESS] = show_only(played, score_evenness);
    figures[SR_TWO_SCORE_AIR] = show_only(played, score_air);
    tell(figures);
  }
  clear_notes(&notes);
  return room ? SR_OK
              : sr_error_set(error, SR_NO_MEMORY,
                             "There is not enough memory to compare the two takes.");
}
