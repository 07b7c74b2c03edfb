// SPDX-License-Identifier: GPL-3.0-or-later

#include "choose_reading.h"

#include "tuning.h"

#include <math.h>

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

SrReading
sr_reading_likely(const double doubled_nats)
{
  return doubled_nats > 0.0 ? SR_READ_DOUBLED : SR_READ_SINGLE;
}

/// Keep another result if it is better.
static void
keep_better(const bool better, SrListened* const other, const SrReading other_reading,
            SrListened* const best, SrReading* const reading)
{
  sr_listened_clear(better ? best : other);
  if (better) {
    *best = *other;
    *reading = other_reading;
  }
}

SrStatus
sr_readings_try(const SrReadingTrial* const trial, const double nats, SrReading* const reading,
                SrListened* const best, SrError* const error)
{
  SrListened other = {0};
  SrStatus status = SR_OK;
  if (*reading == SR_READ_ACCOMPANIED) {
    // The accompaniment may have stopped
    const SrReading likely = sr_reading_likely(nats);
    status = trial->judge_as(trial->context, likely, &other, error);
    const bool better =
        other.assessment && (!best->assessment || !sr_listen_may_be_accompanied(other.assessment) ||
                             !sr_listen_is_accompanied(other.assessment, best->assessment));
    keep_better(better, &other, likely, best, reading);
    return status == SR_NO_MEMORY ? status : SR_OK;
  }
  if (sr_listen_is_doubtful(nats, *reading, best->assessment)) {
    const SrReading another = (SrReading) !*reading;
    status = trial->judge_as(trial->context, another, &other, error);
    const bool better =
        other.assessment && sr_listen_is_better(other.assessment, best->assessment, nats);
    keep_better(better, &other, another, best, reading);
  }
  if (status != SR_NO_MEMORY && sr_listen_may_be_accompanied(best->assessment)) {
    other = (SrListened){0};
    status = trial->judge_as(trial->context, SR_READ_ACCOMPANIED, &other, error);
    const bool better =
        other.assessment && sr_listen_is_accompanied(best->assessment, other.assessment);
    keep_better(better, &other, SR_READ_ACCOMPANIED, best, reading);
  }
  return status == SR_NO_MEMORY ? status : SR_OK;
}
