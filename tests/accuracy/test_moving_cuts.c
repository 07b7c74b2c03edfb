// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_moving_cuts.c
   Cuts onto notes that another pitch goes before, over takes with known truth.

   usage: test_moving_cuts made|recorded MOVING.abc [FIRST LAST]

   With STEADYREED_TAKES set, every cut reported otherwise has its line.
*/

#include "heard.h"
#include "plans.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Takes that are heard; others, by the range, are what the limits were not set by.
#define TAKES 16u
/// What must hold, in percent of the cuts played, and what is aimed at.
#define AIM 98.0
static const double LIMITS[] = {98.5, 98.5};
/// Notes without a cut that was played clean: none may be reported as clean.
#define MOST_INVENTED 0u

typedef struct {
  size_t cuts;
  size_t right;
  size_t absent;
  size_t invented;
} Counts;

static void
count_round(const TruthRound* const truth, const SrRound* const round, const bool verbose,
            Counts* const counts)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    const TruthNote* const was = &truth->notes[i];
    const SrNoteVerdict* const reported = &round->notes[i];
    if (!was->has_cut || was->joined == SR_YES) {
      continue;
    }
    const bool right = reported->has_cut && reported->cut.verdict == was->verdict;
    ++counts->cuts;
    counts->right += right;
    counts->absent += was->verdict == SR_CUT_ABSENT;
    counts->invented +=
        was->verdict == SR_CUT_ABSENT && reported->has_cut && reported->cut.verdict == SR_CUT_CLEAN;
    if (verbose && !right) {
      printf("  note %zu (MIDI %d) at %.3f: %d of %.0f ms, told %d\n", i, was->midi, was->onset_s,
             (int)was->verdict, was->cut_length_ms,
             reported->has_cut ? (int)reported->cut.verdict : -1);
    }
  }
}

/// 0, 1 for an error, 77 if the take cannot be made here.
static int
count_take(const TakeSet set, const char* const path, const size_t index, Counts* const counts)
{
  int tune = 0;
  TakePlan plan = plan_of(index, set, &tune);
  plan.metronome_db = 0.0;
  plan.octave = plan.speech = plan.stop_early = plan.false_start = false;
  SrPhrase* phrase = NULL;
  Take* take = NULL;
  const int status = take_of_plan(path, tune, &plan, &phrase, &take);
  if (status != 0) {
    return status;
  }
  const bool verbose = getenv("STEADYREED_TAKES") != NULL;
  if (verbose) {
    printf("take %zu\n", index);
  }
  HeardTake heard = heard_take(phrase, take);
  const size_t rounds = heard.assessment ? heard.assessment->round_count : 0;
  for (size_t r = 0; r < rounds && r < take->round_count; ++r) {
    count_round(&take->rounds[r], &heard.assessment->rounds[r], verbose, counts);
  }
  heard_free(&heard);
  take_del(take);
  sr_phrase_del(phrase);
  return 0;
}

int
main(const int argc, char** const argv)
{
  if (argc < 3) {
    return 2;
  }
  const bool recorded = !strcmp(argv[1], "recorded");
  const size_t first = argc > 4 ? strtoul(argv[3], NULL, 10) : 0;
  const size_t last = argc > 4 ? strtoul(argv[4], NULL, 10) : TAKES - 1;
  Counts counts = {0};
  for (size_t i = first; i <= last; ++i) {
    const int status = count_take(recorded ? TAKES_RECORDED : TAKES_MADE, argv[2], i, &counts);
    if (status != 0) {
      return status;
    }
  }
  const double right = 100.0 * (double)counts.right / (double)counts.cuts;
  const bool held = right >= LIMITS[recorded] && counts.invented <= MOST_INVENTED;
  printf("%s reeds: %zu cuts onto moving notes, %.2f %% told right (limit %g, aim %g); of %zu not "
         "played %zu told as clean: %s\n",
         argv[1], counts.cuts, right, LIMITS[recorded], AIM, counts.absent, counts.invented,
         held ? "holds" : "BROKEN");
  return held || argc > 4 ? 0 : 1;
}
