// SPDX-License-Identifier: GPL-3.0-or-later

#include "drill_climb.h"

#include "ladder_start.h"
#include "say.h"

#include <steadyreed/sound.h>

#include <math.h>
#include <stdio.h>

static SrNextStep
after_round(void* const data, const SrRound* const round)
{
  const SrDrillClimb* const climb = (const SrDrillClimb*)data;
  const double before = sr_ladder_now(climb->ladder).bpm;
  const SrLadderRung rung = sr_ladder_round(climb->ladder, sr_ladder_grade(round));
  SrNextStep step = {.bpm = (double)NAN, .quietly = rung.moved == SR_LADDER_SAME};
  if (rung.moved == SR_LADDER_SAME && rung.clean > 0) {
    sr_ladder_clean_words(&rung, step.words);
  } else if (rung.moved != SR_LADDER_SAME) {
    sr_ladder_words(climb->phrase, &rung, step.words);
  }
  // At the top it is said that it sticks, and the tempo stays
  if (rung.bpm < before || rung.bpm > before) {
    step.bpm = rung.bpm;
  }
  return step;
}

bool
sr_drill_climb_begin(SrDrillClimb* const climb, const SrPhrase* const phrase,
                     SrSessionSettings* const settings, SrSeries* const series)
{
  *climb = (SrDrillClimb){.phrase = phrase};
  if (settings->silent || isfinite(settings->judge.target_bpm)) {
    return true;
  }
  bool known = false;
  const double own_bpm = sr_sound_tempo(phrase);
  const SrLadderTempo tempo = sr_drill_start(phrase, own_bpm, &known);
  SrError error = {0};
  if (sr_ladder_new(phrase, &tempo, true, &climb->ladder, &error) != SR_OK) {
    sr_say_error(&error);
    return false;
  }
  sr_ladder_keep_together(climb->ladder);
  settings->judge.target_bpm = sr_ladder_now(climb->ladder).bpm;
  series->after_round = after_round;
  series->context = climb;
  const double bpm = settings->judge.target_bpm;
  char rule[64] = "";
  if (!series->greeted) {
    snprintf(rule, sizeof(rule), " %u clean rounds in a row are a step up.",
             SR_LADDER_CLEAN_ROUNDS);
  }
  sr_say_indented(stdout, 2, "At %.0f, %s.%s", bpm,
                  known                 ? "where it was last clean"
                  : bpm < own_bpm - 0.5 ? "where it was last tried"
                                        : "its own tempo",
                  rule);
  fflush(stdout);
  return true;
}

void
sr_drill_climb_clear(SrDrillClimb* const climb)
{
  sr_ladder_del(climb->ladder);
  climb->ladder = NULL;
}
