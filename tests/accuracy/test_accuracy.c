// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_accuracy.c
   How well takes with known truth are heard and judged.

   usage: test_accuracy made|recorded|doubled ACCURACY.abc [FIRST [LAST]]

   With STEADYREED_TAKES set, every take has its line and every error is told.
*/

#include "plans.h"
#include "score.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int
main(const int argc, char** const argv)
{
  if (argc < 3) {
    return 2;
  }
  const TakeSet set = !strcmp(argv[1], "recorded")  ? TAKES_RECORDED
                      : !strcmp(argv[1], "doubled") ? TAKES_DOUBLED
                                                    : TAKES_MADE;
  const bool verbose = getenv("STEADYREED_TAKES") != NULL;
  static const size_t counts[] = {MADE_TAKES, RECORDED_TAKES, DOUBLED_TAKES};
  const size_t count = counts[set];
  const size_t first = argc > 3 ? strtoul(argv[3], NULL, 10) : 0;
  const size_t last = argc > 4 ? strtoul(argv[4], NULL, 10) + 1 : argc > 3 ? first + 1 : count;
  Figures* const figures = figures_new();
  Figures* const octaves = figures_new();
  Figures* const single = figures_new();
  for (size_t i = first; i < last && i < count; ++i) {
    SrPhraseChoice choice = {0};
    const TakePlan plan = plan_of(i, set, &choice.tune);
    SrPhrase* phrase = NULL;
    if (sr_phrase_read_file(argv[2], &choice, &phrase, NULL) != SR_OK) {
      printf("%s cannot be read\n", argv[2]);
      return 1;
    }
    Take* const take = take_make(phrase, &plan);
    if (!take) {
      sr_phrase_del(phrase);
      figures_del(figures);
      return 77;
    }
    if (verbose) {
      printf(
          "take %zu: kind %d, tune %d, %.0f bpm, rt %.2f, floor %.0f, A %.1f, jitter %.0f, attack "
          "%.0f%s%s%s%s%s%s%s\n",
          i, (int)plan.kind, choice.tune, plan.bpm, plan.rt60_s, plan.floor_db, plan.reference_hz,
          plan.jitter_ms, plan.attack_ms, plan.octave ? ", octaves" : "",
          plan.key_clicks ? ", keys" : "", plan.speech ? ", speech" : "",
          plan.metronome_db < 0.0 ? ", metronome" : "", plan.false_start ? ", false start" : "",
          plan.stop_early ? ", stops" : "", plan.hesitate ? ", waits" : "");
    }
    HeardTake heard = heard_take(phrase, take);
    figures_add(figures, phrase, &plan, take, &heard, verbose);
    figures_add(plan.octave ? octaves : single, phrase, &plan, take, &heard, false);
    heard_free(&heard);
    take_del(take);
    sr_phrase_del(phrase);
  }
  figures_print(figures, argv[1]);
  figures_print(single, "of these without octaves");
  figures_print(octaves, "of these with an octave under each note");
  figures_del(figures);
  figures_del(single);
  figures_del(octaves);
  return 0;
}
