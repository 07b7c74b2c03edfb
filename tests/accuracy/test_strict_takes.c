// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_strict_takes.c
   From the sound to the verdict, what a teacher would not let pass: a tempo that doubles, a break
   of a second, half of the cuts' notes never played; and two repeats in a row that were joined, of
   which only the second has a cut on top. Each must be reported as what it was, cost in the scores,
   and be named first.

   usage: test_strict_takes made|recorded STRICT.abc
*/

#include "heard.h"
#include "plans.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#define TAKES 4u
/// What a change of tempo to twice as fast is reported as, %.
#define LEAST_CHANGE 85.0
#define MOST_CHANGE 115.0
/// … and leaves of the evenness.
#define MOST_EVEN_CHANGED 20.0
/// A break of a second is reported within this, s, and leaves so much.
#define BREAK_S 1.0
#define NEAR_S 0.06
#define LEAST_EVEN_BROKEN 60.0
#define MOST_EVEN_BROKEN 82.0
/// One in this many notes with a cut is not played.
#define SKIPPED 2u

static bool made;

static TakePlan
plan_for(const size_t index)
{
  TakePlan plan = take_plan_default();
  plan.seed = 77 + index;
  plan.kind = made ? REEDS_MADE : REEDS_HARMONICA;
  plan.rt60_s = 0.2 + 0.05 * (double)index;
  plan.direct_db = 10.0;
  plan.bpm = 60.0 + 6.0 * (double)index;
  plan.jitter_ms = 4.0;
  plan.detune_cents = 4.0;
  return plan;
}

/// A take, heard and judged.
typedef struct {
  SrPhrase* phrase;
  Take* take;
  HeardTake heard;
  const SrRound* round; ///< NULL if it is not one
} Judged;

/// 0, or the status with which the test is to end.
static int
judge(const char* const path, const int tune, const TakePlan* const plan, Judged* const judged)
{
  const int trouble = take_of_plan(path, tune, plan, &judged->phrase, &judged->take);
  if (trouble) {
    return trouble;
  }
  judged->heard = heard_take(judged->phrase, judged->take);
  const SrAssessment* const a = judged->heard.assessment;
  judged->round = a && a->round_count == 1 ? &a->rounds[0] : NULL;
  return 0;
}

static void
clear(Judged* const judged)
{
  heard_free(&judged->heard);
  take_del(judged->take);
  sr_phrase_del(judged->phrase);
}

/// Tell how a take came out, and whether that is what it should be.
static bool
report(const char* const what, const size_t index, const SrRound* const round, const bool held)
{
  if (!round) {
    printf("%s, take %zu: not one round: FAILS\n", what, index);
    return false;
  }
  printf(
      "%s, take %zu: evenness %.0f, cuts %.0f, notes %zu of %zu, cuts %zu of %zu, %zu slips, %zu "
      "too many, \"%s\": %s\n",
      what, index, round->scores.evenness, round->scores.cuts, round->judged.notes,
      round->asked.notes, round->judged.cuts, round->asked.cuts, round->slip_count,
      round->insertion_count, round->advice_count ? round->advice[0] : "",
      held ? "holds" : "FAILS");
  return held;
}

static bool
starts_with_tempo(const SrRound* const round)
{
  const char* const first = round->advice_count ? round->advice[0] : "";
  return strstr(first, "tempo") || strstr(first, "sped up");
}

static bool
doubled_tempo(const SrRound* const round)
{
  return round && round->pulse.change_percent > LEAST_CHANGE &&
         round->pulse.change_percent < MOST_CHANGE && round->scores.evenness < MOST_EVEN_CHANGED &&
         round->judged.notes + 1 >= round->asked.notes && starts_with_tempo(round);
}

static bool
broken_beat(const SrRound* const round)
{
  return round && round->slip_count == 1 && round->slips[0].kind == SR_SLIP_HESITATION &&
         fabs(round->slips[0].wait_s - BREAK_S) < NEAR_S &&
         round->scores.evenness > LEAST_EVEN_BROKEN && round->scores.evenness < MOST_EVEN_BROKEN &&
         round->judged.notes == round->asked.notes && strstr(round->advice[0], "you waited 1.0 s");
}

static bool
cuts_not_played(const Judged* const judged)
{
  const SrRound* const round = judged->round;
  size_t cuts = 0;
  size_t played = 0;
  size_t missed = 0;
  for (size_t i = 0; i < judged->take->note_count; ++i) {
    const TruthNote* const note = &judged->take->rounds[0].notes[i];
    cuts += sr_phrase_note(judged->phrase, i)->cut_midi >= 0;
    played += note->has_cut;
    missed += note->status == SR_NOTE_MISSED;
  }
  return round && round->asked.cuts == cuts && round->judged.cuts == played &&
         round->asked.notes - round->judged.notes == missed && 2 * played == cuts &&
         fabs(round->scores.cuts - 50.0) < 1e-9 && strstr(round->advice[0], "you missed");
}

/// Every note is reported as it was played, and none as another.
static bool
joined_in_a_row(const Judged* const judged)
{
  const SrRound* const round = judged->round;
  bool right = round && round->insertion_count == 0 && round->slip_count == 0;
  for (size_t i = 0; round && i < judged->take->note_count; ++i) {
    const TruthNote* const truth = &judged->take->rounds[0].notes[i];
    const SrNoteVerdict* const note = &round->notes[i];
    const bool as_played =
        note->status == SR_NOTE_PLAYED && note->joined == truth->joined &&
        (!note->has_cut || note->cut.verdict == truth->verdict) &&
        (truth->joined != SR_YES || isfinite(note->cut.onset_s) == isfinite(truth->cut_length_ms));
    if (!as_played) {
      printf("  note %zu: status %d, joined %d (was %d), cut %d (was %d) at %.3f\n", i,
             (int)note->status, (int)note->joined, (int)truth->joined, (int)note->cut.verdict,
             (int)truth->verdict, note->cut.onset_s);
    }
    right = right && as_played;
  }
  return right;
}

int
main(const int argc, char** const argv)
{
  if (argc < 3) {
    return 2;
  }
  made = strcmp(argv[1], "recorded") != 0;
  bool held = true;
  for (size_t kind = 0; kind < 4; ++kind) {
    for (size_t i = 0; i < TAKES; ++i) {
      static const char* const names[] = {"a tempo that doubles", "a break of a second",
                                          "half of the cuts' notes not played",
                                          "two joined repeats in a row"};
      TakePlan plan = plan_for(i);
      plan.faster = kind == 0 ? 2.0 : 0.0;
      plan.break_s = kind == 1 ? BREAK_S : 0.0;
      plan.skip_cuts = kind == 2 ? SKIPPED : 0;
      plan.joined_rows = kind == 3;
      Judged judged = {0};
      const int trouble = judge(argv[2], kind == 3 ? 2 : 1, &plan, &judged);
      if (trouble) {
        return trouble;
      }
      const bool right = kind == 0   ? doubled_tempo(judged.round)
                         : kind == 1 ? broken_beat(judged.round)
                         : kind == 2 ? cuts_not_played(&judged)
                                     : joined_in_a_row(&judged);
      held = report(names[kind], i, judged.round, right) && held;
      clear(&judged);
    }
  }
  return held ? 0 : 1;
}
