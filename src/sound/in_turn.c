// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/in_turn.h>

#include <steadyreed/slow.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/// Fade at the ends of a stretch, s.
#define FADE_IN_S 0.008
#define FADE_OUT_S 0.02
/// Blocks of the measure of loudness, s, and how far below the loudest they count, as a factor.
#define BLOCK_S 0.05
#define GATE 0.1
/// RMS that both are brought to: -20 dBFS.
#define USUAL_RMS 0.1
/// Silence after the last stretch, s.
#define AFTER_S 0.2

/// One stretch as it will sound.
typedef struct {
  float* samples;
  size_t count;
  double before_s; ///< Of it before the stretch itself
} Clip;

/// Samples to be slowed down.
typedef struct {
  const float* samples;
  size_t count;
  size_t read;
} Source;

static size_t
give(void* const context, float* const samples, const size_t count)
{
  Source* const source = (Source*)context;
  const size_t left = source->count - source->read;
  const size_t given = count < left ? count : left;
  memcpy(samples, source->samples + source->read, given * sizeof(float));
  source->read += given;
  return given;
}

static SrStatus
no_memory(SrError* const error)
{
  (void)sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to prepare the sound.");
  return SR_NO_MEMORY;
}

/// Fade both ends of some samples.
static void
fade(float* const samples, const size_t count, const double rate_hz)
{
  const size_t in = (size_t)(FADE_IN_S * rate_hz);
  const size_t out = (size_t)(FADE_OUT_S * rate_hz);
  for (size_t i = 0; i < in && i < count; ++i) {
    samples[i] *= (float)i / (float)in;
  }
  for (size_t i = 0; i < out && i < count; ++i) {
    samples[count - 1 - i] *= (float)i / (float)out;
  }
}

/// Copy a stretch with what is kept before it. NULL without memory.
static float*
cut_out(const SrTurn* const turn, const SrSpan* const span, size_t* const count)
{
  const double from_s = span->from_s - SR_IN_TURN_BEFORE_S;
  *count = (size_t)llround((span->to_s - from_s) * turn->rate_hz);
  float* const samples = (float*)calloc(*count + 1, sizeof(float));
  const long long first = llround((from_s - turn->start_s) * turn->rate_hz);
  for (size_t i = 0; samples && i < *count; ++i) {
    const long long at = first + (long long)i;
    const bool there = at >= 0 && at < (long long)turn->count;
    samples[i] = there && isfinite(turn->samples[at]) ? turn->samples[at] : 0.0f;
  }
  return samples;
}

static SrStatus
make_clip(const SrTurn* const turn, const SrSpan* const span, const double rate_hz,
          Clip* const clip, SrError* const error)
{
  size_t count = 0;
  float* samples = cut_out(turn, span, &count);
  if (!samples) {
    return no_memory(error);
  }
  SrStatus status = SR_OK;
  if (turn->speed < SR_FASTEST_SPEED || turn->rate_hz < rate_hz || turn->rate_hz > rate_hz) {
    Source source = {samples, count, 0};
    SrSlow* slow = NULL;
    status = sr_slow_new(turn->rate_hz, rate_hz, turn->speed, count, give, &source, &slow, error);
    float* other = NULL;
    if (status == SR_OK) {
      count = sr_slow_length(slow);
      other = (float*)calloc(count + 1, sizeof(float));
      status = other ? SR_OK : no_memory(error);
    }
    if (status == SR_OK) {
      (void)sr_slow_read(slow, other, count);
    }
    sr_slow_del(slow);
    free(samples);
    samples = other;
  }
  if (status == SR_OK) {
    fade(samples, count, rate_hz);
    *clip = (Clip){samples, count, SR_IN_TURN_BEFORE_S / turn->speed};
  }
  return status;
}

/// Loudness and peak of one recording.
typedef struct {
  double rms;
  double peak;
} Level;

/// Mean square of the next block.
static double
block_power(const Clip* const clip, const size_t from, const size_t size)
{
  double sum = 0.0;
  for (size_t i = from; i < from + size; ++i) {
    sum += (double)clip->samples[i] * (double)clip->samples[i];
  }
  return sum / (double)size;
}

/// Measure the clips of one recording, of `turns`.
static Level
measure(const Clip* const clips, const size_t count, const size_t first, const size_t turns,
        const double rate_hz)
{
  const size_t size = (size_t)(BLOCK_S * rate_hz);
  double loudest = 0.0;
  Level level = {0.0, 0.0};
  for (size_t c = first; c < count; c += turns) {
    for (size_t i = 0; i + size <= clips[c].count; i += size) {
      loudest = fmax(loudest, block_power(&clips[c], i, size));
    }
    for (size_t i = 0; i < clips[c].count; ++i) {
      // Not fmax(): in this loop it breaks GCC 12 for arm64
      const double sample = fabs((double)clips[c].samples[i]);
      level.peak = sample > level.peak ? sample : level.peak;
    }
  }
  double sum = 0.0;
  size_t blocks = 0;
  for (size_t c = first; c < count; c += turns) {
    for (size_t i = 0; i + size <= clips[c].count; i += size) {
      const double power = block_power(&clips[c], i, size);
      if (power > 0.0 && power >= GATE * GATE * loudest) {
        sum += power;
        ++blocks;
      }
    }
  }
  level.rms = blocks ? sqrt(sum / (double)blocks) : 0.0;
  return level;
}

/// Silence after a clip, s.
static double
silence_after(const size_t clip, const size_t count, const size_t turns)
{
  return clip + 1 == count         ? AFTER_S
         : (clip + 1) % turns == 0 ? SR_IN_TURN_APART_S
                                   : SR_IN_TURN_BETWEEN_S;
}

/// Put the clips together, each with its gain.
static SrStatus
join(const Clip* const clips, const size_t count, const size_t turns, const double gains[2],
     SrInTurn* const sound, SrError* const error)
{
  const size_t first = (size_t)(SR_IN_TURN_FIRST_S * sound->rate_hz);
  size_t total = first;
  for (size_t c = 0; c < count; ++c) {
    total += clips[c].count + (size_t)(silence_after(c, count, turns) * sound->rate_hz);
  }
  sound->samples = (float*)calloc(total + 1, sizeof(float));
  sound->begins_s = (double*)calloc(count + 1, sizeof(double));
  if (!sound->samples || !sound->begins_s) {
    return no_memory(error);
  }
  size_t at = first;
  for (size_t c = 0; c < count; ++c) {
    sound->begins_s[c] = (double)at / sound->rate_hz + clips[c].before_s;
    for (size_t i = 0; i < clips[c].count; ++i) {
      sound->samples[at + i] = (float)(gains[c % turns] * (double)clips[c].samples[i]);
    }
    at += clips[c].count + (size_t)(silence_after(c, count, turns) * sound->rate_hz);
  }
  sound->count = total;
  sound->begin_count = count;
  return SR_OK;
}

/// Make all equally loud, and join them.
static SrStatus
level_and_join(const Clip* const clips, const size_t count, const size_t turns,
               SrInTurn* const sound, SrError* const error)
{
  double rms[2] = {USUAL_RMS, USUAL_RMS};
  double target = USUAL_RMS;
  for (size_t t = 0; t < turns; ++t) {
    const Level level = measure(clips, count, t, turns, sound->rate_hz);
    if (level.rms <= 0.0) {
      return sr_error_set(error, SR_NOT_FOUND, "Nothing sounds in those bars of the %s take.",
                          t ? "second" : "first");
    }
    rms[t] = level.rms;
    target = fmin(target, SR_IN_TURN_PEAK * level.rms / level.peak);
  }
  const double gains[2] = {target / rms[0], target / rms[1]};
  sound->gain_db[0] = 20.0 * log10(gains[0]);
  sound->gain_db[1] = 20.0 * log10(gains[1]);
  return join(clips, count, turns, gains, sound, error);
}

static SrStatus
check(const SrTurn* const turns, const size_t turn_count, const size_t span_count,
      const double rate_hz, SrError* const error)
{
  double sum_s = 0.0;
  bool good = (turn_count == 1 || turn_count == 2) && span_count > 0 && rate_hz >= 8000.0 &&
              rate_hz <= 192000.0;
  for (size_t t = 0; good && t < turn_count; ++t) {
    good = turns[t].rate_hz >= 8000.0 && turns[t].rate_hz <= 192000.0 &&
           turns[t].speed >= SR_SLOWEST_SPEED && turns[t].speed <= SR_FASTEST_SPEED;
    for (size_t i = 0; good && i < span_count; ++i) {
      const double length_s = turns[t].spans[i].to_s - turns[t].spans[i].from_s;
      good = length_s > 0.0 && isfinite(turns[t].spans[i].from_s);
      sum_s += length_s / turns[t].speed + SR_IN_TURN_APART_S;
    }
  }
  if (!good) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "These stretches cannot be played in turn.");
  }
  return sum_s <= SR_IN_TURN_MOST_S
             ? SR_OK
             : sr_error_set(error, SR_TOO_LARGE, "That is over %.0f minutes. Choose fewer bars.",
                            SR_IN_TURN_MOST_S / 60.0);
}

SrStatus
sr_in_turn_make(const SrTurn* const turns, const size_t turn_count, const size_t span_count,
                const double rate_hz, SrInTurn* const sound, SrError* const error)
{
  *sound = (SrInTurn){.rate_hz = rate_hz};
  SrStatus status = check(turns, turn_count, span_count, rate_hz, error);
  if (status != SR_OK) {
    return status;
  }
  const size_t count = turn_count * span_count;
  Clip* const clips = (Clip*)calloc(count + 1, sizeof(Clip));
  if (!clips) {
    return no_memory(error);
  }
  for (size_t c = 0; c < count && status == SR_OK; ++c) {
    status = make_clip(&turns[c % turn_count], &turns[c % turn_count].spans[c / turn_count],
                       rate_hz, &clips[c], error);
  }
  if (status == SR_OK) {
    status = level_and_join(clips, count, turn_count, sound, error);
  }
  for (size_t c = 0; c < count; ++c) {
    free(clips[c].samples);
  }
  free(clips);
  if (status != SR_OK) {
    sr_in_turn_clear(sound);
  }
  return status;
}

bool
sr_in_turn_speeds(const double bpm[2], double speeds[2])
{
  const double slower = fmin(bpm[0], bpm[1]);
  speeds[0] = 1.0;
  speeds[1] = 1.0;
  if (!isfinite(bpm[0]) || !isfinite(bpm[1]) || slower < SR_SLOWEST_SPEED * fmax(bpm[0], bpm[1])) {
    return false;
  }
  speeds[0] = slower / bpm[0];
  speeds[1] = slower / bpm[1];
  return true;
}

void
sr_in_turn_clear(SrInTurn* const sound)
{
  free(sound->samples);
  free(sound->begins_s);
  *sound = (SrInTurn){.samples = NULL};
}
