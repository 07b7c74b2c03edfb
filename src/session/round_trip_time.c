// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/click.h>
#include <steadyreed/session.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/// Longest single wait for samples, s.
#define WAIT_S 0.05
/// Onsets of the probe's clicks, s. The irregular pattern matches itself at one lag only.
#define PROBE_CLICKS 4u
static const double probe_at_s[PROBE_CLICKS] = {0.0, 0.11, 0.29, 0.37};
#define PROBE_S 0.5
#define PROBE_LEVEL 0.6f
/// Time to wait for the probe, s.
#define PROBE_WAIT_S (PROBE_S + SR_MOST_ROUND_TRIP_S + 2.5)
/// A correlation peak this many times the next one is an arrival.
#define SURE 1.5

/// The probe sound; free() it. NULL without memory.
static float*
make_probe(const double rate_hz, size_t* const count)
{
  *count = (size_t)(PROBE_S * rate_hz);
  const size_t click_count = sr_sound_click(rate_hz, true, NULL, 0);
  float* const probe = (float*)calloc(*count, sizeof(float));
  float* const click = (float*)calloc(click_count + 1, sizeof(float));
  if (probe && click) {
    sr_sound_click(rate_hz, true, click, click_count);
    for (size_t c = 0; c < PROBE_CLICKS; ++c) {
      const size_t at = (size_t)(probe_at_s[c] * rate_hz);
      for (size_t i = 0; i < click_count && at + i < *count; ++i) {
        probe[at + i] += PROBE_LEVEL * click[i];
      }
    }
  }
  free(click);
  return probe;
}

/// Play the probe, and record until it must have arrived.
static SrStatus
play_and_record(SrStream* const stream, const float* const probe, const size_t probe_count,
                float* const recorded, const size_t most, bool (*const stop)(void*),
                void* const context, size_t* const read, SrError* const error)
{
  SrStatus status = sr_stream_start(stream, error);
  if (status == SR_OK) {
    sr_stream_play(stream, probe, probe_count);
  }
  while (status == SR_OK && *read < most && !(stop && stop(context))) {
    status = sr_stream_wait(stream, WAIT_S, error);
    *read += status == SR_OK ? sr_stream_read(stream, recorded + *read, most - *read) : 0;
  }
  for (size_t i = 0; i < *read; ++i) {
    recorded[i] = isfinite(recorded[i]) ? recorded[i] : 0.0f;
  }
  return status;
}

SrStatus
sr_round_trip_time(const SrStreamSettings* const settings, bool (*const stop)(void*),
                   void* const context, SrRoundTrip* const round_trip, SrError* const error)
{
  *round_trip = (SrRoundTrip){.seconds = (double)NAN};
  SrStreamSettings own = *settings;
  own.with_output = true;
  SrStream* stream = NULL;
  SrStatus status = sr_stream_new(&own, &stream, error);
  if (status != SR_OK) {
    return status;
  }
  const double rate_hz = sr_stream_rate_hz(stream);
  snprintf(round_trip->input, sizeof(round_trip->input), "%s", sr_stream_input_name(stream));
  snprintf(round_trip->output, sizeof(round_trip->output), "%s", sr_stream_output_name(stream));
  size_t probe_count = 0;
  size_t read = 0;
  const size_t most = (size_t)(PROBE_WAIT_S * rate_hz);
  float* const probe = make_probe(rate_hz, &probe_count);
  float* const recorded = (float*)calloc(most, sizeof(float));
  if (probe && recorded) {
    status =
        play_and_record(stream, probe, probe_count, recorded, most, stop, context, &read, error);
  } else {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to measure.");
  }
  uint64_t began = 0;
  double samples = (double)NAN;
  double sureness = 0.0;
  if (status == SR_OK && sr_stream_play_began(stream, &began) && began < read) {
    status = sr_round_trip_measure(recorded + began, read - (size_t)began, probe, probe_count,
                                   &samples, &sureness, error);
  }
  if (status == SR_OK && sureness >= SURE) {
    round_trip->seconds = samples / rate_hz;
  }
  free(probe);
  free(recorded);
  sr_stream_del(stream);
  return status;
}
