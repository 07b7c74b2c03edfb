// SPDX-License-Identifier: GPL-3.0-or-later

#include "reading_evidence.h"

#include "tuning.h"

#include <math.h>

static double
share_of(const SrExpected* const expected, const long midi)
{
  return midi >= 0 && midi < 128 ? (double)expected->share[midi] : 0.0;
}

double
sr_reading_density(const SrExpected* const expected, const SrReading reading, const double midi)
{
  const long nearest = lround(midi);
  const double single = share_of(expected, nearest);
  const double doubled = share_of(expected, nearest + 12);
  const double own = reading == SR_READ_DOUBLED ? doubled : single;
  const double other = reading == SR_READ_DOUBLED ? single : doubled;
  const double off = (midi - (double)nearest) / REED_SPREAD;
  const double bell = exp(-0.5 * off * off) / (REED_SPREAD * sqrt(2.0 * M_PI));
  return ((1.0 - OTHERWISE_SHARE) * own + OTHERWISE_SHARE * other) * bell +
         STRAY_SHARE / (double)(SR_HIGHEST_MIDI - SR_LOWEST_MIDI);
}
