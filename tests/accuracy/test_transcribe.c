// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_transcribe.c
   The accuracy takes written down without their phrases: the notes, the cuts, and the lengths once
   they are laid on a grid.

   usage: test_transcribe made|recorded quick|whole|FIRST ACCURACY.abc [LAST]

   Every sixth take is quick. With STEADYREED_TAKES set, every take has its line and every error is
   printed. Takes past the set's own, such as 60 to 119, are others of their kind, on which nothing
   was tuned. Takes with an octave under each note are counted, and told apart as well.
*/

#include "heard.h"
#include "plans.h"
#include "transcript_score.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Of the takes of a set each so manieth is quick.
#define QUICK_EVERY 6u

/// What must hold, percent.
typedef struct {
  double notes;
  double cuts;
  double lengths;
} Limits;

static const Limits AIM = {99.0, 97.0, 95.0};
/// What must hold: the aims where they are reached with room for other machines, and what is
/// reached elsewhere, by set of takes: quick and whole.
static const Limits LIMITS[2][2] = {{{98.5, 96.0, 97.0}, {98.9, 97.0, 97.5}},
                                    {{98.5, 96.0, 98.0}, {99.0, 97.0, 98.0}}};

static SrStatus
rewind_take(void* const from, SrError* const error)
{
  (void)error;
  ((TakeReading*)from)->at = 0;
  return SR_OK;
}

static double
percent(const size_t part, const size_t whole)
{
  return whole ? 100.0 * (double)part / (double)whole : 0.0;
}

static bool
check_one(const char* const what, const double value, const double limit, const double aim)
{
  const bool held = value >= limit;
  printf("  %-34s %8.3f  %s%-8g aim %s %g\n", what, value, held ? "holds, limit " : "FAILS, limit ",
         limit, value >= aim ? "met:" : "not met:", aim);
  return held;
}

static void
print_figures(const char* const title, const TranscriptFigures* const f)
{
  printf("%s: %zu takes; notes %zu of %zu and %zu inserted; cuts %zu of %zu and %zu inserted; "
         "lengths %zu of %zu; places of the bar %.1f %%; meters %zu, signatures %zu\n",
         title, f->meters, f->notes_right, f->notes, f->notes_inserted, f->cuts_right, f->cuts,
         f->cuts_inserted, f->lengths_right, f->lengths, percent(f->places_right, f->places),
         f->meters_right, f->keys_right);
  printf("  tempos %zu, called sure %zu of which right %zu; first bars %zu of %zu, called sure %zu "
         "of which right %zu\n",
         f->tempos_right, f->tempos_sure, f->tempos_sure_right, f->first_bars_right, f->first_bars,
         f->first_bars_sure, f->first_bars_sure_right);
}

static bool
check(const TranscriptFigures* const f, const Limits* const limits)
{
  // What was inserted counts as wrong
  bool held = check_one("notes right, %", percent(f->notes_right, f->notes + f->notes_inserted),
                        limits->notes, AIM.notes);
  held &= check_one("cuts right, %", percent(f->cuts_right, f->cuts + f->cuts_inserted),
                    limits->cuts, AIM.cuts);
  held &= check_one("lengths right, %", percent(f->lengths_right, f->lengths), limits->lengths,
                    AIM.lengths);
  return held;
}

/// Write a take down and count it. 0, or what main() returns.
static int
add_take(const char* const path, const size_t index, const TakeSet set,
         TranscriptFigures* const all, TranscriptFigures* const single)
{
  int tune = 0;
  const TakePlan plan = plan_of(index, set, &tune);
  SrPhrase* phrase = NULL;
  Take* take = NULL;
  const int trouble = take_of_plan(path, tune, &plan, &phrase, &take);
  if (trouble) {
    return trouble;
  }
  const bool verbose = getenv("STEADYREED_TAKES") != NULL;
  if (verbose) {
    printf("take %zu: tune %d, %.0f bpm, rt %.2f, jitter %.0f%s%s%s\n", index, tune, plan.bpm,
           plan.rt60_s, plan.jitter_ms, plan.octave ? ", octaves" : "",
           plan.speech ? ", speech" : "", plan.key_clicks ? ", keys" : "");
  }
  TakeReading reading = {take, 0};
  const SrTakeSource source = {take_read_on, rewind_take, &reading};
  SrPlayedNotes played;
  SrScore score;
  SrError error = {0};
  SrStatus status = sr_played_notes_make(&source, heard_loudest(take), take->rate_hz,
                                         SR_OCTAVES_GUESS, &played, &error);
  if (status == SR_OK) {
    status = sr_score_make(&played, NULL, &score, &error);
    sr_played_notes_clear(&played);
  }
  if (status == SR_OK) {
    transcript_figures_add(all, phrase, &plan, take, &score, verbose);
    if (!plan.octave) {
      transcript_figures_add(single, phrase, &plan, take, &score, false);
    }
    sr_score_clear(&score);
  } else {
    printf("take %zu: %s\n", index, error.message);
  }
  take_del(take);
  sr_phrase_del(phrase);
  return status == SR_OK ? 0 : 1;
}

int
main(const int argc, char** const argv)
{
  if (argc < 4) {
    return 2;
  }
  const TakeSet set = !strcmp(argv[1], "recorded") ? TAKES_RECORDED : TAKES_MADE;
  const bool quick = !strcmp(argv[2], "quick");
  const bool whole = !strcmp(argv[2], "whole");
  const size_t count = set == TAKES_RECORDED ? RECORDED_TAKES : MADE_TAKES;
  const size_t first = quick || whole ? 0 : strtoul(argv[2], NULL, 10);
  const size_t last = quick || whole ? count
                      : argc > 4     ? strtoul(argv[4], NULL, 10) + 1
                                     : first + 1;
  TranscriptFigures all = {0};
  TranscriptFigures single = {0};
  for (size_t i = first; i < last; i += quick ? QUICK_EVERY : 1) {
    const int trouble = add_take(argv[3], i, set, &all, &single);
    if (trouble) {
      return trouble;
    }
  }
  print_figures(argv[1], &all);
  print_figures("of these without octaves", &single);
  const Limits none = {0.0, 0.0, 0.0};
  check(&single, &none);
  printf("all:\n");
  return check(&all, quick || whole ? &LIMITS[set == TAKES_RECORDED][whole] : &none) ? 0 : 1;
}
