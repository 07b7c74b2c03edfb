// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_levels.c
   Takes that are overdriven, and takes that are hardly driven at all, written with 16 bits.

   usage: test_levels made|recorded ACCURACY.abc [FIRST LAST]
*/

#include "plans.h"
#include "score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TAKES 8u
#define AIM_PERCENT 99.0

/// What is reached, per cent of notes and of cuts, by set.
static const struct {
  const char* name;
  double peak_dbfs;
  double floor_db;
  double notes[2];
  double cuts[2];
} LEVELS[] = {
    {"overdriven by 3 dB", 3.0, -55.0, {99.4, 99.5}, {99.0, 98.5}},
    {"overdriven by 6 dB", 6.0, -55.0, {98.0, 98.0}, {98.0, 98.5}},
    {"overdriven by 12 dB", 12.0, -55.0, {97.5, 97.2}, {89.0, 87.5}},
    {"largest sample at -40 dBFS", -40.0, -85.0, {99.5, 98.5}, {99.0, 98.0}},
    {"largest sample at -55 dBFS", -55.0, -95.0, {99.5, 99.2}, {99.0, 96.0}},
};
#define LEVEL_COUNT (sizeof(LEVELS) / sizeof(LEVELS[0]))

static const ReedKind RECORDED[] = {REEDS_HARMONICA, REEDS_ORGAN, REEDS_PATCH_ACCORDION,
                                    REEDS_PATCH_TANGO};

/// As a 16-bit file would have it.
static void
write_16_bits(Take* const take)
{
  for (size_t i = 0; i < take->count; ++i) {
    take->samples[i] = fminf(32767.0f, roundf(32768.0f * take->samples[i])) / 32768.0f;
  }
}

static bool
check(const char* const what, const double value, const double limit)
{
  const bool held = value >= limit;
  printf("  %-24s %7.2f  %s, limit %g, aim %s: %g\n", what, value, held ? "holds" : "BROKEN", limit,
         value >= AIM_PERCENT ? "met" : "missed", AIM_PERCENT);
  return held;
}

int
main(const int argc, char** const argv)
{
  if (argc != 3 && argc != 5) {
    return 2;
  }
  const bool recorded = !strcmp(argv[1], "recorded");
  const size_t first = argc > 3 ? strtoul(argv[3], NULL, 10) : 0;
  const size_t last = argc > 3 ? strtoul(argv[4], NULL, 10) : TAKES - 1;
  bool held = true;
  for (size_t k = 0; k < LEVEL_COUNT; ++k) {
    Figures* const figures = figures_new();
    for (size_t i = first; i <= last; ++i) {
      int tune = 0;
      TakePlan plan = plan_of(i, recorded ? TAKES_RECORDED : TAKES_MADE, &tune);
      plan.kind = recorded ? RECORDED[i % 4] : REEDS_MADE;
      plan.peak_dbfs = LEVELS[k].peak_dbfs;
      plan.floor_db = LEVELS[k].floor_db;
      plan.metronome_db = 0.0;
      plan.octave = false;
      SrPhrase* phrase = NULL;
      Take* take = NULL;
      const int status = take_of_plan(argv[2], tune, &plan, &phrase, &take);
      if (status != 0) {
        figures_del(figures);
        return status;
      }
      write_16_bits(take);
      HeardTake heard = heard_take(phrase, take);
      figures_add(figures, phrase, &plan, take, &heard, getenv("STEADYREED_TAKES") != NULL);
      heard_free(&heard);
      take_del(take);
      sr_phrase_del(phrase);
    }
    printf("%s reeds, %s: onset F %.4f, %zu of %zu takes refused\n", argv[1], LEVELS[k].name,
           figures_f(figures), figures->refused, figures->takes);
    const double notes = 100.0 * (double)figures->notes_right / (double)figures->notes;
    const double cuts = 100.0 * (double)figures->cuts_right / (double)figures->cuts;
    const bool notes_hold = check("notes right, %", notes, LEVELS[k].notes[recorded]);
    const bool cuts_hold = check("cut verdicts right, %", cuts, LEVELS[k].cuts[recorded]);
    held &= (notes_hold && cuts_hold) || argc > 3;
    figures_del(figures);
  }
  return held ? 0 : 1;
}
