// SPDX-License-Identifier: GPL-3.0-or-later

#include "tuning.h"

#include <steadyreed/listen.h>

#include <steadyreed/live.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// One take being listened to.
typedef struct {
  const SrPhrase* phrase;
  const SrTakeSource* source;
  int64_t loudest;
  const SrTakeFacts* facts;
  const SrJudgeSettings* settings;
  SrExpected expected;
  SrCalibration* calibration;
  float* chunk;
} Listening;

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge the take.");
}

bool
sr_listen_is_unsure(const double doubled_nats)
{
  return !(fabs(doubled_nats) >= SURE_NATS);
}

bool
sr_listen_is_doubtful(const double doubled_nats, const SrReading reading,
                      const SrAssessment* const assessment)
{
  return sr_listen_is_unsure(doubled_nats) ||
         (doubled_nats > 0.0) != (reading == SR_READ_DOUBLED) ||
         sr_assessment_played(assessment) < GOOD_SHARE;
}

bool
sr_listen_is_better(const SrAssessment* const other, const SrAssessment* const likely,
                    const double doubled_nats)
{
  const double more = sr_assessment_explained(other) - sr_assessment_explained(likely);
  const double notes = (double)sr_assessment_asked(other);
  return more > (sr_listen_is_unsure(doubled_nats) ? 0.0 : (1.0 - GOOD_SHARE) * notes);
}

bool
sr_listen_may_be_accompanied(const SrAssessment* const assessment)
{
  return !assessment ||
         sr_assessment_explained(assessment) < WELL_SHARE * (double)sr_assessment_asked(assessment);
}

bool
sr_listen_is_accompanied(const SrAssessment* const assessment, const SrAssessment* const other)
{
  // A slip that is not recognised makes notes seem missed: only the played ones count
  const double asked = (double)sr_assessment_asked(other);
  const double played = sr_assessment_played(assessment) * (double)sr_assessment_asked(assessment);
  return sr_assessment_played(other) * asked > played + MORE_SHARE * asked;
}

void
sr_listened_clear(SrListened* const listened)
{
  free(listened->events);
  free(listened->air);
  sr_assessment_del(listened->assessment);
  memset(listened, 0, sizeof(*listened));
}

/// First pass: what instrument is it?
static SrStatus
calibration(Listening* const l, SrError* const error)
{
  SrStatus status = sr_calibration_new(l->facts->rate_hz, &l->expected, &l->calibration, error);
  if (status == SR_OK) {
    sr_calibration_align_to(l->calibration, l->loudest);
    size_t count;
    while ((count = l->source->read(l->source->from, l->chunk, CHUNK_SAMPLES)) > 0) {
      sr_calibration_push(l->calibration, l->chunk, count);
    }
  }
  return status;
}

/// Make room for one more in an array whose capacity is `count` rounded up to a power of two.
static bool
grow(void** const array, const size_t count, const size_t size)
{
  if (count & (count - 1)) {
    return true;
  }
  void* const grown = realloc(*array, (count ? 2 * count : 1) * size);
  *array = grown ? grown : *array;
  return grown != NULL;
}

static SrStatus
pull(SrHear* const hear, SrListened* const listened, SrError* const error)
{
  SrEvent event;
  while (sr_hear_pull(hear, &event)) {
    if (!grow((void**)&listened->events, listened->event_count, sizeof(event))) {
      return no_memory(error);
    }
    listened->events[listened->event_count++] = event;
  }
  SrAirHeard air;
  while (sr_hear_pull_air(hear, &air)) {
    if (!grow((void**)&listened->air, listened->air_count, sizeof(air))) {
      return no_memory(error);
    }
    listened->air[listened->air_count++] = air;
  }
  return SR_OK;
}

/// Second pass: what was played?
static SrStatus
hear(const Listening* const l, const SrProfile* const profile, SrListened* const listened,
     SrError* const error)
{
  SrHear* hear = NULL;
  SrStatus status = l->source->rewind(l->source->from, error);
  if (status == SR_OK) {
    status = sr_hear_new(l->facts->rate_hz, profile, &l->expected, &hear, error);
  }
  if (status != SR_OK) {
    return status;
  }
  sr_hear_place(hear, l->loudest);
  status = sr_hear_air_later(hear) == SR_OK ? SR_OK : no_memory(error);
  size_t count;
  while (status == SR_OK &&
         (count = l->source->read(l->source->from, l->chunk, CHUNK_SAMPLES)) > 0) {
    status = sr_hear_push(hear, l->chunk, count) == SR_OK ? pull(hear, listened, error)
                                                          : no_memory(error);
  }
  if (status == SR_OK) {
    status = sr_hear_finish(hear) == SR_OK ? pull(hear, listened, error) : no_memory(error);
  }
  listened->air_carriage = sr_hear_air_carriage(hear);
  sr_hear_del(hear);
  return status;
}

/// Hear and judge it in one reading.
static SrStatus
listen_as(const Listening* const l, const SrReading reading, SrListened* const listened,
          SrError* const error)
{
  SrProfile* profile = NULL;
  SrStatus status = sr_calibration_finish(l->calibration, reading, &profile, error);
  if (status == SR_OK) {
    status = hear(l, profile, listened, error);
  }
  if (status == SR_OK) {
    const SrHeard heard = {listened->events, listened->event_count, listened->air,
                           listened->air_count, listened->air_carriage};
    SrJudgeSettings settings = l->settings ? *l->settings : sr_judge_settings_default();
    settings.accompanied = reading == SR_READ_ACCOMPANIED;
    status = sr_judge_take(l->phrase, &heard, l->facts, &settings, &listened->assessment, error);
  }
  if (listened->assessment) {
    listened->assessment->doubled = reading == SR_READ_DOUBLED;
  }
  sr_profile_del(profile);
  return status;
}

/// Keep another reading of the take if `better`; returns `better`.
static bool
keep_better(const bool better, SrListened* const listened, SrListened* const other)
{
  sr_listened_clear(better ? listened : other);
  if (better) {
    *listened = *other;
  }
  return better;
}

/// Hear and judge it in the likelier reading, and in others that may be better.
static SrStatus
listen(const Listening* const l, SrListened* const listened, SrError* const error)
{
  const double nats = sr_calibration_doubled_nats(l->calibration);
  const SrReading likely = nats > 0.0 ? SR_READ_DOUBLED : SR_READ_SINGLE;
  SrStatus status = listen_as(l, likely, listened, error);
  if (status != SR_OK && status != SR_NO_MATCH) {
    return status;
  }
  SrListened other = {0};
  if (sr_listen_is_doubtful(nats, likely, listened->assessment)) {
    const bool judged = listen_as(l, (SrReading)!likely, &other, NULL) == SR_OK;
    const bool better = judged && sr_listen_is_better(other.assessment, listened->assessment, nats);
    status = keep_better(better, listened, &other) ? SR_OK : status;
  }
  memset(&other, 0, sizeof(other));
  if (sr_listen_may_be_accompanied(listened->assessment)) {
    const bool judged = listen_as(l, SR_READ_ACCOMPANIED, &other, NULL) == SR_OK;
    const bool better = judged && sr_listen_is_accompanied(listened->assessment, other.assessment);
    status = keep_better(better, listened, &other) ? SR_OK : status;
  }
  return status;
}

SrStatus
sr_listen(const SrPhrase* const phrase, const SrTakeSource* const source, const int64_t loudest,
          const SrTakeFacts* const facts, const SrJudgeSettings* const settings,
          SrListened* const listened, SrError* const error)
{
  memset(listened, 0, sizeof(*listened));
  Listening l = {.phrase = phrase,
                 .source = source,
                 .loudest = loudest,
                 .facts = facts,
                 .settings = settings,
                 .expected = sr_live_expected(phrase),
                 .chunk = (float*)malloc(CHUNK_SAMPLES * sizeof(float))};
  SrStatus status = l.chunk ? calibration(&l, error) : no_memory(error);
  if (status == SR_OK) {
    status = listen(&l, listened, error);
  }
  sr_calibration_del(l.calibration);
  free(l.chunk);
  return status;
}
