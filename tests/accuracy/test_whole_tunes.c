// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_whole_tunes.c
   Whole tunes played well, three times with talk between, on reeds of every kind: each kind single
   and coupled with the octave above or below, its even harmonics raised or not. None may be
   refused, and what was played right must be reported as right, from the recording and live.

   usage: test_whole_tunes REEDS|all EXERCISES WHOLE-TUNES.abc [FIRST LAST]

   REEDS are those of reed_source.h; `all` walks through them. With STEADYREED_TAKES set, every take
   has its line; with STEADYREED_NO_LIVE set, only recordings are judged.

   All exercises and four whole tunes: 315 takes for a kind's whole range.
*/

#include "heard.h"
#include "plans.h"
#include "reported.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Onsets that match lie within this, s.
#define WITHIN_S 0.05
#define MOST_TUNES 64u
#define MOST_PATH 512u

typedef struct {
  char path[MOST_PATH];
  int tune;
} Tune;

/// How a reed is coupled with another.
static const struct {
  const char* name;
  int semitones;
  double level_db;
} DOUBLINGS[] = {
    {"single", 0, 0.0},
    {"octave above, 0 dB", 12, 0.0},
    {"octave above, -6 dB", 12, -6.0},
    {"octave below, 0 dB", -12, 0.0},
    {"octave below, -6 dB", -12, -6.0},
};
#define DOUBLING_COUNT (sizeof(DOUBLINGS) / sizeof(DOUBLINGS[0]))
#define COMB_COUNT 3u
#define COMB_STEP_DB 4.0

/// What is counted of takes.
typedef struct {
  size_t takes;
  size_t refused;
  size_t rounds;
  size_t rounds_found;
  size_t notes;
  size_t notes_right;
  size_t cuts;
  size_t cuts_right;
  size_t insertions; ///< Notes reported that were not played
  bool live;
  size_t live_rounds;
  size_t first_right; ///< Notes right the first time they were reported
  size_t last_right;  ///< … and the last time
  size_t round_right; ///< … and by the verdict on their round
  size_t taken_back;  ///< Reported as right, and then not
  size_t live_cuts_right;
} Count;

static int
compare_tunes(const void* const a, const void* const b)
{
  return strcmp(((const Tune*)a)->path, ((const Tune*)b)->path);
}

/// All exercises in order of name, and the tunes of one file.
static size_t
list_tunes(const char* const folder, const char* const whole, Tune* const tunes)
{
  size_t count = 0;
  DIR* const directory = opendir(folder);
  for (struct dirent* entry; directory && (entry = readdir(directory));) {
    const char* const dot = strrchr(entry->d_name, '.');
    if (dot && !strcmp(dot, ".abc") && count < MOST_TUNES) {
      Tune* const tune = &tunes[count++];
      tune->tune = 1;
      snprintf(tune->path, sizeof(tune->path), "%s/%s", folder, entry->d_name);
    }
  }
  if (directory) {
    closedir(directory);
  }
  qsort(tunes, count, sizeof(Tune), compare_tunes);
  for (int x = 1; x <= 4 && count < MOST_TUNES; ++x) {
    Tune* const tune = &tunes[count++];
    tune->tune = x;
    snprintf(tune->path, sizeof(tune->path), "%s", whole);
  }
  return count;
}

static TakePlan
plan_whole_tune(const size_t index, const ReedKind kind, const double even_db,
                const size_t doubling)
{
  TakePlan plan = take_plan_default();
  const double walk = (double)(index + 1) * sqrt(2.0);
  plan.seed = index + 1;
  plan.kind = kind;
  plan.even_db = even_db;
  plan.coupled = DOUBLINGS[doubling].semitones;
  plan.coupled_db = DOUBLINGS[doubling].level_db;
  plan.attack_ms = 14.0;
  plan.rt60_s = 0.3;
  plan.direct_db = 11.0;
  plan.floor_db = -60.0;
  plan.reference_hz = 436.0 + 10.0 * (walk - floor(walk));
  plan.detune_cents = 4.0;
  plan.jitter_ms = 6.0;
  plan.lilt = index % 3 ? 0.08 : 0.0;
  plan.overlap_ms = 8.0;
  plan.rounds = 3;
  plan.speech = true;
  return plan;
}

static bool
note_right(const SrNoteVerdict* const note, const TruthNote* const truth)
{
  return note->status == SR_NOTE_PLAYED && isfinite(note->onset_s) &&
         fabs(note->onset_s - truth->onset_s) <= WITHIN_S;
}

static bool
cut_right(const SrNoteVerdict* const note, const TruthNote* const truth)
{
  return note->status == SR_NOTE_PLAYED && note->has_cut && note->cut.verdict == truth->verdict;
}

static void
count_recording(Count* const count, const Take* const take, const HeardTake* const heard)
{
  ++count->takes;
  count->refused += !heard->assessment;
  for (size_t r = 0; r < take->round_count; ++r) {
    const TruthRound* const truth = &take->rounds[r];
    const SrRound* const round = reported_round_on(heard->assessment, truth);
    ++count->rounds;
    count->rounds_found += round != NULL;
    count->insertions += round ? round->insertion_count : 0;
    for (size_t i = 0; i < take->note_count; ++i) {
      const TruthNote* const note = &truth->notes[i];
      ++count->notes;
      count->cuts += note->has_cut;
      if (round) {
        count->notes_right += note_right(&round->notes[i], note);
        count->cuts_right += note->has_cut && cut_right(&round->notes[i], note);
      }
    }
  }
}

static void
count_live(Count* const count, const SrPhrase* const phrase, const Take* const take)
{
  ReportedRound* rounds = NULL;
  const size_t reported = reported_follow(phrase, take, &rounds);
  count->live = true;
  for (size_t r = 0; r < take->round_count; ++r) {
    const TruthRound* const truth = &take->rounds[r];
    const ReportedRound* live = NULL;
    const SrRound* round = NULL;
    for (size_t t = 0; t < reported && !round; ++t) {
      live = &rounds[t];
      round = reported_round_on(live->assessment, truth);
    }
    count->live_rounds += round != NULL;
    for (size_t i = 0; round && i < take->note_count; ++i) {
      const TruthNote* const note = &truth->notes[i];
      const ReportedNote* const one = &live->notes[i];
      const bool first = one->reported && note_right(&one->first, note);
      const bool last = one->reported && note_right(&one->last, note);
      const bool again = note_right(&round->notes[i], note);
      count->first_right += first;
      count->last_right += last;
      count->round_right += again;
      count->taken_back += first && !(last && again);
      count->live_cuts_right += note->has_cut && cut_right(&round->notes[i], note);
    }
  }
  reported_del(rounds, reported);
}

static void
pool(Count* const sum, const Count* const one)
{
  sum->takes += one->takes;
  sum->refused += one->refused;
  sum->rounds += one->rounds;
  sum->rounds_found += one->rounds_found;
  sum->notes += one->notes;
  sum->notes_right += one->notes_right;
  sum->cuts += one->cuts;
  sum->cuts_right += one->cuts_right;
  sum->insertions += one->insertions;
  sum->live |= one->live;
  sum->live_rounds += one->live_rounds;
  sum->first_right += one->first_right;
  sum->last_right += one->last_right;
  sum->round_right += one->round_right;
  sum->taken_back += one->taken_back;
  sum->live_cuts_right += one->live_cuts_right;
}

static double
percent(const size_t part, const size_t whole)
{
  return whole ? 100.0 * (double)part / (double)whole : 100.0;
}

static void
print_count(const char* const name, const Count* const c)
{
  printf("%-48s %3zu takes, %zu refused, rounds %zu/%zu, notes %6.2f %%, cuts %6.2f %%, extra %zu",
         name, c->takes, c->refused, c->rounds_found, c->rounds, percent(c->notes_right, c->notes),
         percent(c->cuts_right, c->cuts), c->insertions);
  if (c->live) {
    printf("; live rounds %zu, notes %6.2f %%, first %6.2f, last %6.2f, back %zu, cuts %6.2f %%",
           c->live_rounds, percent(c->round_right, c->notes), percent(c->first_right, c->notes),
           percent(c->last_right, c->notes), c->taken_back, percent(c->live_cuts_right, c->cuts));
  }
  printf("\n");
}

/// What must be reached, as far as the test has takes for it. Whether it is.
static bool
print_limit(const char* const what, const double value, const double limit, const bool at_most)
{
  const bool holds = at_most ? value <= limit : value >= limit;
  printf("  %-44s %8.2f  %s, limit %g\n", what, value, holds ? "holds" : "BROKEN", limit);
  return holds;
}

/// What is aimed at, without a limit.
static void
print_aim(const char* const what, const double value, const double aim, const bool at_most)
{
  const bool met = at_most ? value <= aim : value >= aim;
  printf("  %-44s %8.2f  aim %s: %g\n", what, value, met ? "met" : "missed", aim);
}

int
main(const int argc, char** const argv)
{
  if (argc != 4 && argc != 6) {
    return 2;
  }
  const bool verbose = getenv("STEADYREED_TAKES") != NULL;
  const bool live = getenv("STEADYREED_NO_LIVE") == NULL;
  int only = REED_KINDS;
  for (int k = 0; k < REED_KINDS; ++k) {
    only = !strcmp(argv[1], REED_NAMES[k]) ? k : only;
  }
  if (only == REED_KINDS && strcmp(argv[1], "all") != 0) {
    return 2;
  }
  static Tune tunes[MOST_TUNES];
  const size_t tune_count = list_tunes(argv[2], argv[3], tunes);
  const size_t kinds = only == REED_KINDS ? REED_KINDS : 1;
  const size_t all = kinds * tune_count * DOUBLING_COUNT * COMB_COUNT;
  const size_t first = argc > 4 ? strtoul(argv[4], NULL, 10) : 0;
  const size_t last = argc > 5 ? strtoul(argv[5], NULL, 10) : all - 1;
  Count by_doubling[DOUBLING_COUNT][COMB_COUNT] = {{{0}}};
  Count by_kind[REED_KINDS] = {{0}};
  Count sum = {0};
  for (size_t i = first; i <= last; ++i) {
    const size_t kind = only == REED_KINDS ? i % REED_KINDS : (size_t)only;
    // Tunes, doublings and combs are mixed so that few takes have some of each, and a kind's whole
    // range has each with each
    const size_t at = i / kinds + 13 * kind;
    const size_t doubling = at % DOUBLING_COUNT;
    const size_t comb = (at + at / (DOUBLING_COUNT * tune_count)) % COMB_COUNT;
    const Tune* const tune = &tunes[at % tune_count];
    TakePlan plan = plan_whole_tune(i, (ReedKind)kind, COMB_STEP_DB * (double)comb, doubling);
    SrPhrase* phrase = NULL;
    const SrPhraseChoice choice = {.tune = tune->tune};
    if (sr_phrase_read_file(tune->path, &choice, &phrase, NULL) != SR_OK) {
      printf("%s cannot be read\n", tune->path);
      return 1;
    }
    plan.bpm = sr_phrase_tempo(phrase) > 0.0 ? sr_phrase_tempo(phrase) : plan.bpm;
    Take* const take = take_make(phrase, &plan);
    if (!take) {
      sr_phrase_del(phrase);
      return 77;
    }
    Count one = {0};
    HeardTake heard = heard_take(phrase, take);
    count_recording(&one, take, &heard);
    if (live) {
      count_live(&one, phrase, take);
    }
    if (verbose) {
      char name[160];
      snprintf(name, sizeof(name), "%zu %.24s, %s, +%.0f, %s", i, sr_phrase_title(phrase),
               REED_NAMES[kind], plan.even_db, DOUBLINGS[doubling].name);
      print_count(name, &one);
      if (!heard.assessment) {
        printf("  refused: %s\n", heard.error.message);
      }
      fflush(stdout);
    }
    pool(&by_doubling[doubling][comb], &one);
    pool(&by_kind[kind], &one);
    pool(&sum, &one);
    heard_free(&heard);
    take_del(take);
    sr_phrase_del(phrase);
  }
  for (size_t d = 0; d < DOUBLING_COUNT; ++d) {
    for (size_t c = 0; c < COMB_COUNT; ++c) {
      char name[64];
      snprintf(name, sizeof(name), "%s, even +%.0f dB", DOUBLINGS[d].name,
               COMB_STEP_DB * (double)c);
      if (by_doubling[d][c].takes) {
        print_count(name, &by_doubling[d][c]);
      }
    }
  }
  for (size_t k = 0; k < REED_KINDS; ++k) {
    if (by_kind[k].takes) {
      print_count(REED_NAMES[k], &by_kind[k]);
    }
  }
  print_count("all", &sum);
  Count steady = {0};
  for (ReedKind k = 0; k < REED_KINDS; ++k) {
    if (!reed_beats(k)) {
      pool(&steady, &by_kind[k]);
    }
  }
  print_count("reeds that do not beat", &steady);
  bool holds = print_limit("takes refused", (double)steady.refused, 0.0, true);
  holds &= print_limit("notes right, %", percent(steady.notes_right, steady.notes), 99.0, false);
  print_aim("cuts right, %", percent(steady.cuts_right, steady.cuts), 98.0, false);
  if (live) {
    holds &= print_limit("live rounds told, %", percent(steady.live_rounds, steady.rounds), 100.0,
                         false);
    holds &=
        print_limit("notes right live, %", percent(steady.round_right, steady.notes), 99.0, false);
    print_aim("... the first time they are told, %", percent(steady.first_right, steady.notes),
              99.0, false);
  }
  print_aim("takes refused, all kinds of reeds", (double)sum.refused, 0.0, true);
  print_aim("notes right, all kinds of reeds, %", percent(sum.notes_right, sum.notes), 99.0, false);
  return holds ? 0 : 1;
}
