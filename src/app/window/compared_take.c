// SPDX-License-Identifier: GPL-3.0-or-later

#include "compared_take.h"

#include <steadyreed/judged_take.h>

static void
clear(void* const data)
{
  SrComparedTake* const take = (SrComparedTake*)data;
  g_free(take->name);
  g_free(take->path);
  sr_held_round_unref(take->held);
}

SrComparedTake*
sr_compared_take_of_round(SrHeldRound* const held)
{
  SrComparedTake* const take = g_atomic_rc_box_new0(SrComparedTake);
  take->name = g_strdup_printf("Round %u", held->number);
  take->held = sr_held_round_ref(held);
  return take;
}

SrComparedTake*
sr_compared_take_read(SrChosen* const chosen, const char* const path, const char* const name,
                      SrError* const error)
{
  SrJudgedTake judged;
  SrJudgeSettings settings = sr_judge_settings_default();
  settings.places = (const char* const*)chosen->places;
  if (sr_judged_take_make(chosen->phrase, path, &settings, true, &judged) != SR_OK) {
    *error = judged.error;
    sr_judged_take_clear(&judged);
    return NULL;
  }
  if (judged.phrase) {
    (void)sr_error_set(error, SR_NO_MATCH, "%s fits its phrase in another key only.", name);
    sr_judged_take_clear(&judged);
    return NULL;
  }
  SrAssessment* const assessment = judged.assessment;
  judged.assessment = NULL;
  sr_judged_take_clear(&judged);
  SrComparedTake* const take = g_atomic_rc_box_new0(SrComparedTake);
  take->name = g_strdup(name);
  take->path = g_strdup(path);
  take->held = sr_held_round_new(chosen, assessment);
  take->held->round = &assessment->rounds[sr_best_round(sr_compared_take_rounds(take))];
  return take;
}

SrComparedTake*
sr_compared_take_ref(SrComparedTake* const take)
{
  return (SrComparedTake*)g_atomic_rc_box_acquire(take);
}

void
sr_compared_take_unref(SrComparedTake* const take)
{
  if (take) {
    g_atomic_rc_box_release_full(take, clear);
  }
}

SrPlayedRounds
sr_compared_take_rounds(const SrComparedTake* const take)
{
  const SrAssessment* const assessment = take->held->assessment;
  return take->path ? (SrPlayedRounds){assessment->rounds, assessment->round_count}
                    : (SrPlayedRounds){take->held->round, 1};
}
