// SPDX-License-Identifier: GPL-3.0-or-later

#include "plans.h"

#include <math.h>
#include <stdio.h>

static double
walk(const size_t index, const unsigned range, const double least, const double most)
{
  static const double primes[] = {2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0, 23.0, 29.0};
  const double at = (double)(index + 1) * sqrt(primes[range]);
  return least + (most - least) * (at - floor(at));
}

TakePlan
plan_of(const size_t index, const TakeSet set, int* const tune)
{
  TakePlan plan = take_plan_default();
  plan.seed = index + 1 + 1000 * (uint64_t)set;
  plan.kind = set == TAKES_MADE       ? REEDS_MADE
              : set == TAKES_RECORDED ? REEDS_HARMONICA
              : index % 2             ? REEDS_ACCORDION
                                      : REEDS_BANDONEON;
  plan.attack_ms = walk(index, 0, 8.0, 26.0); // 8 to 40 ms from the highest reeds to the lowest
  plan.rt60_s = walk(index, 1, 0.2, 0.8);
  // A microphone at about 30 cm, as on a music stand: 12 dB of direct over reflected sound in a
  // dead room, 6 dB in a live one
  plan.direct_db = 14.0 - 10.0 * plan.rt60_s;
  plan.floor_db = walk(index, 2, -65.0, -45.0);
  plan.reference_hz = walk(index, 3, 432.0, 456.0);
  plan.detune_cents = 4.0;
  plan.bpm = walk(index, 4, 60.0, 127.0);
  plan.jitter_ms = walk(index, 5, 0.0, 30.0);
  plan.drift_percent = walk(index, 6, -12.0, 12.0);
  plan.lilt = walk(index, 7, 0.0, 0.2);
  plan.overlap_ms = walk(index, 8, 0.0, 15.0);
  plan.rounds = index % 3 == 0 ? 2 : 1;
  plan.p_long = 0.12;
  plan.p_on_top = 0.12;
  plan.p_bare = 0.08;
  plan.p_absent = 0.10;
  plan.p_missed = 0.03;
  plan.p_wrong = 0.04;
  plan.p_extra = index % 4 == 1 ? 0.03 : 0.0;
  plan.octave = index % 10 == 2;
  plan.key_clicks = index % 5 == 3;
  plan.speech = index % 6 == 3;
  plan.metronome_db = index % 6 == 4 ? walk(index, 9, -30.0, -10.0) : 0.0;
  plan.false_start = index % 10 == 5;
  plan.stop_early = index % 10 == 8;
  plan.hesitate = index % 10 == 1;
  *tune = (int)(index % 4) + 1;
  return plan;
}

int
take_of_plan(const char* const path, const int tune, const TakePlan* const plan,
             SrPhrase** const phrase, Take** const take)
{
  const SrPhraseChoice choice = {.tune = tune};
  *take = NULL;
  if (sr_phrase_read_file(path, &choice, phrase, NULL) != SR_OK) {
    printf("%s cannot be read\n", path);
    *phrase = NULL;
    return 1;
  }
  *take = take_make(*phrase, plan);
  if (!*take) {
    sr_phrase_del(*phrase);
    *phrase = NULL;
    return 77;
  }
  return 0;
}
