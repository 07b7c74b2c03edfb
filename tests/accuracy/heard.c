// SPDX-License-Identifier: GPL-3.0-or-later

#include "heard.h"

#include <steadyreed/listen.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

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

size_t
take_read_on(void* const from, float* const samples, const size_t count)
{
  TakeReading* const reading = (TakeReading*)from;
  const size_t left = reading->take->count - reading->at;
  const size_t step = left < count ? left : count;
  memcpy(samples, reading->take->samples + reading->at, step * sizeof(float));
  reading->at += step;
  return step;
}

static SrStatus
read_again(void* const from, SrError* const error)
{
  (void)error;
  ((TakeReading*)from)->at = 0;
  return SR_OK;
}

HeardTake
heard_take_laid(const SrPhrase* const phrase, const Take* const take, const int64_t sample)
{
  HeardTake heard = {0};
  TakeReading reading = {take, 0};
  const SrTakeSource source = {take_read_on, read_again, &reading};
  const SrTakeFacts facts = {
      .path = "", .seconds = (double)take->count / take->rate_hz, .rate_hz = take->rate_hz};
  SrListened listened;
  sr_listen(phrase, &source, sample, &facts, NULL, &listened, &heard.error);
  heard.events = listened.events;
  heard.event_count = listened.event_count;
  heard.airs = listened.air;
  heard.air_count = listened.air_count;
  heard.assessment = listened.assessment;
  return heard;
}

void
heard_free(HeardTake* const heard)
{
  free(heard->events);
  free(heard->airs);
  sr_assessment_del(heard->assessment);
}
