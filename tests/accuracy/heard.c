// SPDX-License-Identifier: GPL-3.0-or-later

#include "heard.h"

#include <steadyreed/live.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

static void
pull(SrHear* const hear, HeardTake* const heard)
{
  SrAirHeard air;
  while (sr_hear_pull_air(hear, &air)) {
    heard->airs = (SrAirHeard*)realloc(heard->airs, (heard->air_count + 1) * sizeof(air));
    heard->airs[heard->air_count++] = air;
  }
  SrEvent event;
  while (sr_hear_pull(hear, &event)) {
    heard->events = (SrEvent*)realloc(heard->events, (heard->event_count + 1) * sizeof(SrEvent));
    heard->events[heard->event_count++] = event;
  }
}

int64_t
heard_loudest(const Take* const take)
{
  int64_t loudest = 0;
  for (size_t i = 0; i < take->count; ++i) {
    loudest = fabsf(take->samples[i]) > fabsf(take->samples[loudest]) ? (int64_t)i : loudest;
  }
  return loudest;
}

HeardTake
heard_take(const SrPhrase* const phrase, const Take* const take)
{
  return heard_take_laid(phrase, take, heard_loudest(take));
}

HeardTake
heard_take_laid(const SrPhrase* const phrase, const Take* const take, const int64_t sample)
{
  HeardTake heard = {0};
  const SrExpected expected = sr_live_expected(phrase);
  SrSurvey* survey = NULL;
  SrProfile* profile = NULL;
  SrHear* hear = NULL;
  sr_survey_new(take->rate_hz, &expected, &survey, NULL);
  sr_survey_place(survey, sample);
  sr_survey_push(survey, take->samples, take->count);
  sr_survey_finish(survey, &profile, NULL);
  sr_survey_del(survey);
  sr_hear_new(take->rate_hz, profile, &expected, &hear, NULL);
  sr_hear_place(hear, sample);
  for (size_t at = 0; at < take->count; at += 65536) {
    const size_t step = take->count - at < 65536 ? take->count - at : 65536;
    sr_hear_push(hear, take->samples + at, step);
    pull(hear, &heard);
  }
  sr_hear_finish(hear);
  pull(hear, &heard);
  sr_hear_del(hear);
  sr_profile_del(profile);
  const SrTakeFacts facts = {
      .path = "", .seconds = (double)take->count / take->rate_hz, .rate_hz = take->rate_hz};
  const SrHeard all = {heard.events, heard.event_count, heard.airs, heard.air_count};
  sr_judge_take(phrase, &all, &facts, NULL, &heard.assessment, &heard.error);
  return heard;
}

void
heard_free(HeardTake* const heard)
{
  free(heard->events);
  free(heard->airs);
  sr_assessment_del(heard->assessment);
}
