// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_faults.c
   Rounds with several faults at once, as a perfect ear would hear them: what is reported wrong here
   is the judge's own doing.

   usage: test_faults PHRASE.abc...

   With STEADYREED_TAKES set, every note reported wrong has its line.

   The quickest check of a change to the judge. Measured: of 2059 notes left out, 98.5 % are
   reported as missed; of 50833 played, 99.98 % as played.
*/

#include "played.h"
#include "random.h"

#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#define MOST_NOTES 512u
#define ROUNDS 60u
#define NO_CUT 5u
/// Chances of faults.
#define MISSED 0.04
#define WRONG 0.04
#define ON_TOP 0.08
#define BARE 0.05
#define ABSENT 0.10
#define LONG 0.10
#define WAIT 0.01

static const char* const STATUSES[] = {"played", "missed", "wrong", "unheard"};
static const char* const VERDICTS[] = {"clean", "long", "joined", "absent", "stray", "none"};

/// What one note was.
typedef struct {
  SrNoteStatus status;
  size_t cut; ///< A verdict, or NO_CUT
} Truth;

/// One round under construction.
typedef struct {
  const SrPhrase* phrase;
  Random random;
  double onset_s[MOST_NOTES + 1];
  Truth truth[MOST_NOTES];
  Played played;
  SrEvent* last; ///< The last note that sounded
} Round;

/// What was reported, by what was true.
typedef struct {
  size_t rounds;
  size_t refused;
  size_t split;
  size_t statuses[3][4];
  size_t cuts[4][6];
} Table;

static bool
repeats(const Round* const r, const size_t i)
{
  return i > 0 && sr_phrase_note(r->phrase, i - 1)->midi == sr_phrase_note(r->phrase, i)->midi;
}

/// When each note is played: a tempo, a hand that is not quite even, now and then a wait.
static void
lay_out(Round* const r)
{
  const size_t notes = sr_phrase_note_count(r->phrase);
  const double pulse = sr_fraction_value(sr_phrase_bar(r->phrase, 0)->pulse);
  const double whole_s = 60.0 / random_between(&r->random, 60.0, 120.0) / pulse;
  const double spread_s = random_between(&r->random, 0.005, 0.020);
  double from_s = 1.0;
  for (size_t i = 0; i < notes; ++i) {
    if (i > 0 && random_unit(&r->random) < WAIT) {
      from_s += random_between(&r->random, 0.3, 0.9);
    }
    const double stray_s = i > 0 ? spread_s * random_normal(&r->random) : 0.0;
    r->onset_s[i] =
        from_s + whole_s * sr_fraction_value(sr_phrase_note(r->phrase, i)->start) + stray_s;
    // In order, however uneven
    r->onset_s[i] = i > 0 ? fmax(r->onset_s[i], r->onset_s[i - 1] + 0.06) : r->onset_s[i];
  }
  r->onset_s[notes] = r->onset_s[notes - 1] +
                      whole_s * sr_fraction_value(sr_phrase_note(r->phrase, notes - 1)->length);
}

/// Another pitch, that is neither the note's nor a neighbour's.
static int
wrong_midi(Round* const r, const size_t i)
{
  static const int steps[] = {1, -1, 2, -2, 3, -3, 5};
  const int midi = sr_phrase_note(r->phrase, i)->midi;
  const int before = sr_phrase_note(r->phrase, i - 1)->midi;
  const int behind = sr_phrase_note(r->phrase, i + 1)->midi;
  int wrong;
  do {
    wrong = midi + steps[random_next(&r->random) % 7u];
  } while (wrong == before || wrong == behind);
  return wrong;
}

/// Play a note with a cut; `again` if its pitch sounded just before.
static void
play_cut(Round* const r, const size_t i, const bool again, const double end_s)
{
  const SrPhraseNote* const written = sr_phrase_note(r->phrase, i);
  const double from_s = r->onset_s[i];
  const double chance = random_unit(&r->random);
  if (again && chance < ON_TOP + BARE) {
    r->truth[i].cut = SR_CUT_JOINED;
    SrEvent* const held = r->last;
    if (chance < ON_TOP) {
      played_add(&r->played, written->cut_midi, from_s, from_s + 0.04, (double)NAN);
    }
    held->end_s = end_s;
    return;
  }
  double length_s = random_between(&r->random, 0.02, 0.06);
  r->truth[i].cut = SR_CUT_CLEAN;
  if (again && chance < ON_TOP + BARE + ABSENT) {
    r->truth[i].cut = SR_CUT_ABSENT;
    length_s = 0.0;
    r->last->end_s = fmin(r->last->end_s, from_s - 0.03);
  } else if (chance > 1.0 - LONG && end_s - from_s > 0.25) {
    r->truth[i].cut = SR_CUT_LONG;
    length_s = random_between(&r->random, 0.09, 0.13);
  }
  if (length_s > 0.0) {
    r->last->end_s = fmin(r->last->end_s, from_s);
    played_add(&r->played, written->cut_midi, from_s, from_s + length_s, (double)NAN);
  }
  r->last =
      played_add(&r->played, written->midi, from_s + length_s, end_s, again ? 30.0 : (double)NAN);
}

static void
play_note(Round* const r, const size_t i)
{
  const SrPhraseNote* const written = sr_phrase_note(r->phrase, i);
  const bool last = i + 1 == sr_phrase_note_count(r->phrase);
  const double end_s = r->onset_s[i + 1];
  const double chance = random_unit(&r->random);
  r->truth[i] = (Truth){SR_NOTE_PLAYED, NO_CUT};
  if (i > 0 && !last && chance < MISSED) {
    r->truth[i].status = SR_NOTE_MISSED;
    // Silence, or the note before held on
    if (!repeats(r, i) && random_unit(&r->random) < 0.5) {
      r->last->end_s = end_s - 0.002;
    }
    return;
  }
  if (i > 0 && !last && chance < MISSED + WRONG) {
    r->truth[i].status = SR_NOTE_WRONG;
    r->last = played_add(&r->played, wrong_midi(r, i), r->onset_s[i], end_s, (double)NAN);
    return;
  }
  const bool again = repeats(r, i) && r->truth[i - 1].status == SR_NOTE_PLAYED;
  if (written->cut_midi >= 0 && i > 0) {
    play_cut(r, i, again, end_s);
    return;
  }
  if (again) {
    r->last->end_s = fmin(r->last->end_s, r->onset_s[i] - 0.02);
  }
  r->last = played_add(&r->played, written->midi, r->onset_s[i], end_s, again ? 25.0 : (double)NAN);
}

static void
count_round(const Round* const r, const SrAssessment* const assessment, const char* const path,
            const unsigned number, Table* const table)
{
  const bool verbose = getenv("STEADYREED_TAKES") != NULL;
  table->split += assessment->round_count != 1;
  const SrRound* round = &assessment->rounds[0];
  for (size_t i = 1; i < assessment->round_count; ++i) {
    const SrRound* const other = &assessment->rounds[i];
    round = other->end_s - other->start_s > round->end_s - round->start_s ? other : round;
  }
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    const Truth* const truth = &r->truth[i];
    const size_t cut = note->has_cut ? (size_t)note->cut.verdict : NO_CUT;
    ++table->statuses[truth->status][note->status];
    if (truth->cut != NO_CUT) {
      ++table->cuts[truth->cut][cut];
    }
    if (verbose && (note->status != truth->status || (truth->cut != NO_CUT && truth->cut != cut))) {
      printf("%s, round %u, note %zu, bar %d: %s, cut %s; told %s, cut %s\n", path, number, i,
             note->bar, STATUSES[truth->status], VERDICTS[truth->cut], STATUSES[note->status],
             VERDICTS[cut]);
    }
  }
}

static void
play_round(const SrPhrase* const phrase, const char* const path, const unsigned number,
           Table* const table)
{
  static Round r;
  r.phrase = phrase;
  r.random.state = number;
  r.played.count = 0;
  r.last = NULL;
  lay_out(&r);
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    play_note(&r, i);
  }
  SrStatus status;
  SrAssessment* const assessment = played_judge(&r.played, phrase, &status);
  ++table->rounds;
  if (assessment) {
    count_round(&r, assessment, path, number, table);
  } else {
    printf("%s, round %u: refused\n", path, number);
    ++table->refused;
  }
  sr_assessment_del(assessment);
}

/// Print a row and check that at least `least` per cent of it was reported right.
static bool
check_row(const char* const* const names, const size_t columns, const size_t* const row,
          const size_t right, const double least)
{
  size_t sum = 0;
  printf("  true %-7s told", names[right]);
  for (size_t i = 0; i < columns; ++i) {
    sum += row[i];
    printf(" %s %zu,", names[i], row[i]);
  }
  const double percent = sum ? 100.0 * (double)row[right] / (double)sum : 0.0;
  const bool held = percent >= least;
  printf(" right %.2f %% (%s, least %g)\n", percent, held ? "holds" : "FAILS", least);
  return held;
}

int
main(const int argc, char** const argv)
{
  // Reached, and not to be lost again
  static const double least_statuses[] = {99.6, 96.0, 98.5};
  static const double least_cuts[] = {98.5, 98.5, 98.0, 98.0};
  Table table = {0};
  for (int i = 1; i < argc; ++i) {
    SrPhrase* phrase = NULL;
    const SrPhraseChoice choice = {0};
    if (sr_phrase_read_file(argv[i], &choice, &phrase, NULL) != SR_OK ||
        sr_phrase_note_count(phrase) > MOST_NOTES) {
      printf("%s cannot be used\n", argv[i]);
      return 1;
    }
    for (unsigned k = 1; k <= ROUNDS; ++k) {
      play_round(phrase, argv[i], k, &table);
    }
    sr_phrase_del(phrase);
  }
  printf("%zu rounds with faults, as a perfect ear would hear them; %zu refused, %zu told as more "
         "than one\n",
         table.rounds, table.refused, table.split);
  bool held = table.refused == 0 && table.split <= table.rounds / 200;
  for (size_t s = 0; s < 3; ++s) {
    held &= check_row(STATUSES, 4, table.statuses[s], s, least_statuses[s]);
  }
  for (size_t v = 0; v < 4; ++v) {
    held &= check_row(VERDICTS, 6, table.cuts[v], v, least_cuts[v]);
  }
  return held ? 0 : 1;
}
