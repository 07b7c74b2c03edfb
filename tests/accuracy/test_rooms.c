// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_rooms.c
   Notes in live rooms, the microphone so far off that what is direct lies 2 dB over what is
   reflected: each is one note, reported where it began.

   usage: test_rooms made|recorded RT60 ACCURACY.abc WHOLE-TUNES.abc [FIRST LAST]

   With STEADYREED_TAKES set, every take has its line and every note that is not right.
*/

#include "heard.h"
#include "plans.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TAKES 24u
#define DIRECT_DB 2.0
/// Onsets that match lie within this, s.
#define WITHIN_S 0.025
/// The room that must hold, and what must.
#define MUST_RT60_S 0.45
#define AIM_PERCENT 99.0
/// … on made and on recorded reeds.
static const double LIMITS[] = {97.0, 98.0};
/// What is reached in those of 0.6 and 0.8 s.
static const double REACHED[][2] = {{95.5, 97.5}, {94.0, 96.5}};

static const ReedKind RECORDED[] = {REEDS_HARMONICA, REEDS_ORGAN, REEDS_PATCH_ACCORDION,
                                    REEDS_PATCH_TANGO};

static double
walk(const size_t index, const double step, const double least, const double most)
{
  const double at = (double)(index + 1) * step;
  return least + (most - least) * (at - floor(at));
}

static TakePlan
plan_in_room(const size_t index, const bool recorded, const double rt60_s)
{
  TakePlan plan = take_plan_default();
  plan.seed = index + 1;
  plan.kind = recorded ? RECORDED[index % 4] : REEDS_MADE;
  plan.attack_ms = walk(index, sqrt(2.0), 10.0, 20.0);
  plan.rt60_s = rt60_s;
  plan.direct_db = DIRECT_DB;
  plan.floor_db = -55.0;
  plan.reference_hz = walk(index, sqrt(3.0), 436.0, 446.0);
  plan.detune_cents = 4.0;
  plan.bpm = walk(index, sqrt(5.0), 66.0, 112.0);
  plan.jitter_ms = 8.0;
  plan.overlap_ms = 8.0;
  plan.rounds = 1;
  return plan;
}

/// What the ear reported about a time.
static void
print_events(const HeardTake* const heard, const double at_s)
{
  for (size_t i = 0; i < heard->event_count; ++i) {
    const SrEvent* const event = &heard->events[i];
    if (event->onset_s < at_s + 0.2 && event->end_s > at_s - 0.1) {
      printf("        midi %d, %+.0f to %+.0f ms, %.1f dB, fell %.1f dB, phase %.2f, fit %.2f\n",
             event->midi, 1e3 * (event->onset_s - at_s), 1e3 * (event->end_s - at_s),
             event->level_db, event->fall_db, event->phase_kept, event->fit);
    }
  }
}

/// What is counted.
typedef struct {
  size_t notes;
  size_t right;
  size_t late; ///< Reported as played, later than that
  size_t early;
  size_t not_played;
  size_t insertions;
  size_t cuts;
  size_t cuts_right;
  double error_sum_ms;
} Count;

static void
count_take(Count* const count, const Take* const take, const HeardTake* const heard,
           const bool verbose)
{
  const TruthRound* const truth = &take->rounds[0];
  const bool any = heard->assessment && heard->assessment->round_count > 0;
  const SrRound* const round = any ? &heard->assessment->rounds[0] : NULL;
  count->insertions += any ? round->insertion_count : 0;
  for (size_t i = 0; i < take->note_count; ++i) {
    const TruthNote* const note = &truth->notes[i];
    const SrNoteVerdict* const reported = any ? &round->notes[i] : NULL;
    const bool played =
        reported && reported->status == SR_NOTE_PLAYED && isfinite(reported->onset_s);
    const double off_s = played ? reported->onset_s - note->onset_s : 0.0;
    ++count->notes;
    count->not_played += !played;
    count->late += off_s > WITHIN_S;
    count->early += off_s < -WITHIN_S;
    count->right += played && fabs(off_s) <= WITHIN_S;
    count->error_sum_ms += played && fabs(off_s) <= WITHIN_S ? 1e3 * fabs(off_s) : 0.0;
    count->cuts += note->has_cut;
    count->cuts_right +=
        note->has_cut && played && reported->has_cut && reported->cut.verdict == note->verdict;
    if (verbose && played && fabs(off_s) <= WITHIN_S && note->has_cut &&
        reported->cut.verdict != note->verdict) {
      printf("    cut at note %zu (midi %d) at %.3f: %d instead of %d\n", i, note->midi,
             note->onset_s, (int)reported->cut.verdict, (int)note->verdict);
      print_events(heard, note->onset_s);
    }
    if (verbose && !(played && fabs(off_s) <= WITHIN_S)) {
      printf("    note %zu (midi %d%s) at %.3f: %s %+.0f ms\n", i, note->midi,
             note->has_cut ? ", cut" : "", note->onset_s,
             !reported                    ? "no round"
             : played                     ? "played"
             : reported->joined == SR_YES ? "joined"
                                          : "not played",
             1e3 * off_s);
      print_events(heard, note->onset_s);
    }
  }
}

static double
percent(const size_t part, const size_t whole)
{
  return whole ? 100.0 * (double)part / (double)whole : 100.0;
}

static void
print_count(const char* const name, const Count* const c)
{
  printf("%s: %zu notes, %.2f %% within 25 ms (by %.1f ms), late %zu, early %zu, not played %zu, "
         "extra %zu, cuts %.2f %%\n",
         name, c->notes, percent(c->right, c->notes),
         c->right ? c->error_sum_ms / (double)c->right : 0.0, c->late, c->early, c->not_played,
         c->insertions, percent(c->cuts_right, c->cuts));
}

int
main(const int argc, char** const argv)
{
  if (argc != 5 && argc != 7) {
    return 2;
  }
  const bool recorded = !strcmp(argv[1], "recorded");
  const bool verbose = getenv("STEADYREED_TAKES") != NULL;
  const double rt60_s = strtod(argv[2], NULL);
  const size_t first = argc > 5 ? strtoul(argv[5], NULL, 10) : 0;
  const size_t last = argc > 6 ? strtoul(argv[6], NULL, 10) : TAKES - 1;
  Count sum = {0};
  for (size_t i = first; i <= last; ++i) {
    const TakePlan plan = plan_in_room(i, recorded, rt60_s);
    SrPhrase* phrase = NULL;
    Take* take = NULL;
    // Short phrases three times of four
    const size_t tune = i / 4 % 4;
    const bool whole = i % 8 == 7;
    const int status = take_of_plan(argv[whole ? 4 : 3], (int)tune + 1, &plan, &phrase, &take);
    if (status != 0) {
      return status;
    }
    HeardTake heard = heard_take(phrase, take);
    Count one = {0};
    if (verbose) {
      printf("take %zu, %s, %s, %.0f bpm\n", i, REED_NAMES[plan.kind], sr_phrase_title(phrase),
             plan.bpm);
    }
    count_take(&one, take, &heard, verbose);
    count_take(&sum, take, &heard, false);
    if (verbose) {
      print_count("  ", &one);
      fflush(stdout);
    }
    heard_free(&heard);
    take_del(take);
    sr_phrase_del(phrase);
  }
  char name[64];
  snprintf(name, sizeof(name), "%s reeds, %.2f s", argv[1], rt60_s);
  print_count(name, &sum);
  const double right = percent(sum.right, sum.notes);
  const double limit =
      rt60_s < MUST_RT60_S + 1e-6 ? LIMITS[recorded] : REACHED[rt60_s > 0.7][recorded];
  const bool held = right >= limit || argc > 5;
  printf("  notes within 25 ms, %%: %.2f  %s, limit %g, aim %s: %g\n", right,
         held ? "holds" : "BROKEN", limit, right >= AIM_PERCENT ? "met" : "missed", AIM_PERCENT);
  return held ? 0 : 1;
}
