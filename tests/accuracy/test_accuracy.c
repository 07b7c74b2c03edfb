// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_accuracy.c
   How well takes with known truth are heard and judged.

   usage: test_accuracy made|recorded|doubled ACCURACY.abc [FIRST [LAST]]

   With STEADYREED_TAKES set, every take has its line and every error is printed. With
   STEADYREED_NO_PEERS set, aubio is left out. Takes past the set's own, such as 60 to 119, are
   others of their kind, on which nothing was tuned.
*/

#include "peer.h"
#include "plans.h"
#include "score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// aubio's best method here, run on all takes; the others, to see that it is, on every so manieth.
#define PEER_BEST 0u
#define PEER_EVERY 5u

/// What must hold; what is aimed at stands beside it in the print.
typedef struct {
  double f;
  double over_peer; ///< F over that of aubio's best method
  double bias_ms;
  double deviation_ms;
  double cuts_percent;
  size_t swaps;
  double length_ms;
  double notes_percent;
  double named_percent; ///< Of the notes reported as wrong, those reported with the pitch that was
                        ///< played
  double reference_cents;
  double spread_ms; ///< Of what is reported of a round, off the true one, on the mean
} Limits;

/// The aim for all takes.
static const Limits AIM = {0.99, 0.0, 5.0, 1.5, 98.0, 0, 3.0, 99.0, 99.0, 3.0, 1.0};

/// What is reached so far and must not be lost again, by set of takes.
static const Limits LIMITS[] = {
    {0.992, 0.10, 5.0, 1.5, 99.0, 0, 2.0, 99.6, 97.0, 3.0, 0.7},
    {0.99, 0.15, 5.0, 3.3, 98.0, 1, 2.7, 99.6, 96.0, 3.0, 1.0},
    {0.55, -0.03, 6.0, 4.5, 60.0, 10, 8.0, 85.0, 90.0, 9.0, 25.0},
};

static bool
check_one(const char* const what, const double value, const double limit, const double aim,
          const bool most)
{
  const bool held = most ? value <= limit : value >= limit;
  const bool met = most ? value <= aim : value >= aim;
  printf("  %-34s %8.3f  %s%-8g aim %s %g\n", what, value, held ? "holds, limit " : "FAILS, limit ",
         limit, met ? "met:" : "not met:", aim);
  return held;
}

static bool
check(const Figures* const f, const double best_peer, const Limits* const limits)
{
  const double cuts = 100.0 * (double)f->cuts_right / (double)f->cuts;
  const double notes = 100.0 * (double)f->notes_right / (double)f->notes;
  const double length = f->length_error_ms / (double)f->lengths;
  bool held = check_one("onset F", figures_f(f), limits->f, AIM.f, false);
  held &= check_one("onset F over aubio's best", figures_f(f) - best_peer, limits->over_peer,
                    AIM.over_peer, false);
  held &= check_one("onset bias, ms", fabs(figures_bias_ms(f)), limits->bias_ms, AIM.bias_ms, true);
  held &= check_one("onset deviation, ms", figures_deviation_ms(f), limits->deviation_ms,
                    AIM.deviation_ms, true);
  held &= check_one("cut verdicts right, %", cuts, limits->cuts_percent, AIM.cuts_percent, false);
  held &= check_one("joined for clean or back", (double)f->quiet_swaps, (double)limits->swaps,
                    (double)AIM.swaps, true);
  held &= check_one("cut length error, ms", length, limits->length_ms, AIM.length_ms, true);
  held &= check_one("notes right, %", notes, limits->notes_percent, AIM.notes_percent, false);
  const double named = 100.0 * (double)f->wrong_named / (double)f->wrong;
  held &= check_one("wrong notes told with their pitch, %", named, limits->named_percent,
                    AIM.named_percent, false);
  held &= check_one("notes heard in pauses", (double)f->ghosts, 0.0, 0.0, true);
  held &= check_one("reference, worst, cents", f->worst_reference_cents, limits->reference_cents,
                    AIM.reference_cents, true);
  held &= check_one("spread error, mean, ms", figures_spread_error_ms(f), limits->spread_ms,
                    AIM.spread_ms, true);
  return held;
}

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
  const bool peers_too = getenv("STEADYREED_NO_PEERS") == NULL;
  static const size_t counts[] = {MADE_TAKES, RECORDED_TAKES, DOUBLED_TAKES};
  const size_t count = counts[set];
  const size_t first = argc > 3 ? strtoul(argv[3], NULL, 10) : 0;
  const size_t last = argc > 4 ? strtoul(argv[4], NULL, 10) + 1 : argc > 3 ? first + 1 : count;
  Figures* const figures = figures_new();
  Figures* const octaves = figures_new();
  Figures* const single = figures_new();
  PeerFigures peer = {0, 0, 0};
  PeerFigures peers[PEER_METHODS] = {{0, 0, 0}};
  for (size_t i = first; i < last; ++i) {
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
    if (peers_too) {
      peer_add(&peer, PEER_BEST, take);
    }
    for (size_t m = 0; peers_too && m < PEER_METHODS && i % PEER_EVERY == 0; ++m) {
      peer_add(&peers[m], m, take);
    }
    heard_free(&heard);
    take_del(take);
    sr_phrase_del(phrase);
  }
  figures_print(figures, argv[1]);
  figures_print(single, "of these without octaves");
  figures_print(octaves, "of these with an octave under each note");
  printf("aubio %-9s onsets F %.4f (%zu matched, %zu false); on every %uth take:\n",
         peer_name(PEER_BEST), peer_f(&peer), peer.matched, peer.false_onsets, PEER_EVERY);
  size_t best = 0;
  for (size_t m = 0; m < PEER_METHODS; ++m) {
    printf("  aubio %-9s F %.4f (%zu matched, %zu false)\n", peer_name(m), peer_f(&peers[m]),
           peers[m].matched, peers[m].false_onsets);
    best = peer_f(&peers[m]) > peer_f(&peers[best]) ? m : best;
  }
  const bool whole = first == 0 && last == count;
  bool held = !whole || check(figures, peer_f(&peer), &LIMITS[set]);
  if (whole && best != PEER_BEST) {
    printf("  FAILS: aubio's best method is %s now\n", peer_name(best));
    held = false;
  }
  figures_del(figures);
  figures_del(single);
  figures_del(octaves);
  return held ? 0 : 1;
}
