// SPDX-License-Identifier: GPL-3.0-or-later

#include "air.h"
#include "block.h"
#include "decimator.h"
#include "frame_grid_offset.h"
#include "simd.h"
#include "sound_finder.h"
#include "tuning.h"

#include "../full_scale.h"

#include <steadyreed/hear.h>

#include <math.h>
#include <stdint.h>

/// Input samples processed at once.
#define CHUNK 1024u

/// A gap in the signal.
typedef struct {
  uint64_t start;
  uint64_t end;
} Stretch;

struct SrHearImpl {
  double rate_hz;
  SrProfile* profile;
  SrDecimator* decimator;
  SrFrameGrid grid;
  SrBlock* block;
  SrSoundFinder* finder;
  SrAirFinder* air;
  bool without_air;
  float* samples; ///< Decimated, room for a block and a chunk
  size_t capacity;
  size_t fill;
  size_t skip;    ///< Samples still to be skipped for the frame grid offset
  double start_s; ///< Start after them
  uint64_t pushed;
  unsigned full_run;  ///< Samples at full scale in a row
  uint64_t zero_run;  ///< Exact zeros in a row
  bool sounded;       ///< Anything but zeros so far
  Stretch open;       ///< The current gap; end 0 if none
  Stretch* stretches; ///< Closed ones
  size_t stretch_room;
  size_t stretch_count;
  size_t stretch_next; ///< To be pulled
  bool stretch_lost;   ///< One was lost for want of memory
};

void
sr_hear_del(SrHear* const h)
{
  if (h) {
    sr_air_finder_del(h->air);
    sr_sound_finder_del(h->finder);
    sr_block_del(h->block);
    sr_decimator_del(h->decimator);
    sr_profile_del(h->profile);
    free(h->samples);
    free(h->stretches);
    free(h);
  }
}

int
sr_event_own_midi(const SrEvent* const event)
{
  return event->octave_below > ALONE_BELOW ? event->midi - 12 : event->midi;
}

SrStatus
sr_hear_new(const double rate_hz, const SrProfile* const profile, const SrExpected* const expected,
            SrHear** const hear, SrError* const error)
{
  *hear = NULL;
  if (!(rate_hz >= SR_LOWEST_RATE_HZ && rate_hz <= SR_HIGHEST_RATE_HZ)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The sample rate is %.0f Hz; it must be between %.0f and %.0f Hz.", rate_hz,
                        SR_LOWEST_RATE_HZ, SR_HIGHEST_RATE_HZ);
  }
  SrHear* const h = (SrHear*)calloc(1, sizeof(SrHear));
  if (h) {
    h->rate_hz = rate_hz;
    h->profile = profile ? sr_profile_copy(profile) : sr_profile_new(440.0);
    h->decimator = sr_decimator_new(rate_hz);
  }
  if (h && h->profile && h->decimator) {
    h->grid = sr_frame_grid(sr_decimator_rate_hz(h->decimator));
    h->block = sr_block_new(h->profile, &h->grid, expected);
    h->finder = sr_sound_finder_new(h->profile, &h->grid, expected);
    h->air = sr_air_finder_new(rate_hz, h->profile);
    h->capacity = 2 * (h->grid.window + SR_BLOCK_FRAMES * h->grid.hop) +
                  sr_decimator_most(h->decimator, CHUNK);
    h->samples = sr_vector_new(h->capacity);
  }
  if (!h || !h->block || !h->finder || !h->air || !h->samples) {
    sr_hear_del(h);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  // Frame 0 is centred on the first sample
  h->fill = h->grid.window / 2;
  *hear = h;
  return SR_OK;
}

static void
close_stretch(SrHear* const h)
{
  if (!h->open.end) {
    return;
  }
  if (h->stretch_count == h->stretch_room) {
    const size_t room = 2 * h->stretch_room + 16;
    Stretch* const more = (Stretch*)realloc(h->stretches, room * sizeof(Stretch));
    if (!more) {
      h->stretch_lost = true;
      return;
    }
    h->stretches = more;
    h->stretch_room = room;
  }
  h->stretches[h->stretch_count++] = h->open;
  h->open = (Stretch){0, 0};
}

/// Mark samples as unusable; gaps less than 50 ms apart are merged.
static void
mark(SrHear* const h, const uint64_t start, const uint64_t end)
{
  const uint64_t near = (uint64_t)(0.05 * h->rate_hz);
  if (h->open.end && start > h->open.end + near) {
    close_stretch(h);
  }
  if (!h->open.end) {
    h->open.start = start;
  }
  h->open.end = end;
}

/// Whether samples are all finite, non-zero and below full scale, as most are.
SR_HOT static bool
are_plain(const float* const samples, const size_t count)
{
  int others = 0;
  for (size_t i = 0; i < count; ++i) {
    const float size = fabsf(samples[i]);
    others |= size > 0.0f && size < SR_FULL_SCALE ? 0 : 1;
  }
  return !others;
}

/// Detect unusable samples, and make all finite.
static void
inspect(SrHear* const h, const float* const input, float* const clean, const size_t count)
{
  const bool muted = h->sounded && (double)h->zero_run > MUTED_S * h->rate_hz;
  if (!muted && are_plain(input, count)) {
    memcpy(clean, input, count * sizeof(float));
    h->full_run = 0;
    h->zero_run = 0;
    h->sounded = true;
    return;
  }
  for (size_t i = 0; i < count; ++i) {
    const float x = input[i];
    const uint64_t now = h->pushed + i;
    if (!isfinite(x)) {
      clean[i] = 0.0f;
      mark(h, now, now + 1);
      continue;
    }
    clean[i] = x;
    h->full_run = fabsf(x) >= SR_FULL_SCALE ? h->full_run + 1 : 0;
    if (h->full_run >= SR_CLIPPED_RUN) {
      mark(h, now + 1 - h->full_run, now + 1);
    }
    if (x < 0.0f || x > 0.0f) {
      if (h->sounded && (double)h->zero_run > MUTED_S * h->rate_hz) {
        mark(h, now - h->zero_run, now);
      }
      h->zero_run = 0;
      h->sounded = true;
    } else {
      ++h->zero_run;
    }
  }
}

static void
use_samples(SrHear* const h)
{
  size_t start = 0;
  while (start + sr_block_reach(h->block) <= h->fill) {
    SrActivationFrame frames[SR_BLOCK_FRAMES];
    const SrBlockPart part = sr_block_do(h->block, h->samples + start, frames);
    for (size_t i = part.from; i < part.to; ++i) {
      const bool last = i + 1 == SR_BLOCK_FRAMES;
      sr_sound_finder_do(h->finder, &frames[i], sr_block_magnitudes(h->block, i),
                         last ? sr_block_framer(h->block) : NULL);
    }
    if (part.to < SR_BLOCK_FRAMES) {
      continue;
    }
    if (!h->without_air) {
      sr_air_finder_do(h->air, h->finder);
    }
    start += sr_block_step(h->block);
  }
  memmove(h->samples, h->samples + start, (h->fill - start) * sizeof(float));
  h->fill -= start;
}

void
sr_hear_place(SrHear* const h, const int64_t sample)
{
  h->skip =
      sr_frame_grid_offset(sample, sr_block_step(h->block) * sr_decimator_factor(h->decimator));
  h->start_s = (double)h->skip / h->rate_hz;
  sr_air_finder_place(h->air, sample - (int64_t)h->skip);
}

SrStatus
sr_hear_push(SrHear* const h, const float* const samples, const size_t count)
{
  float clean[CHUNK];
  const size_t skipped = count < h->skip ? count : h->skip;
  h->skip -= skipped;
  for (size_t done = skipped; done < count;) {
    const size_t step = count - done < CHUNK ? count - done : CHUNK;
    inspect(h, samples + done, clean, step);
    if (!h->without_air) {
      sr_air_finder_push(h->air, clean, step);
    }
    h->fill += sr_decimator_push(h->decimator, clean, step, h->samples + h->fill);
    use_samples(h);
    h->pushed += step;
    done += step;
  }
  return sr_sound_finder_lost(h->finder) || h->stretch_lost ? SR_NO_MEMORY : SR_OK;
}

SrStatus
sr_hear_finish(SrHear* const h)
{
  h->fill += sr_decimator_finish(h->decimator, h->samples + h->fill);
  use_samples(h);
  // Silence, so that the last sample has its frame
  const size_t more = h->grid.window / 2 + SR_BLOCK_FRAMES * h->grid.hop;
  memset(h->samples + h->fill, 0, more * sizeof(float));
  h->fill += more;
  use_samples(h);
  sr_sound_finder_finish(h->finder);
  if (!h->without_air) {
    sr_air_finder_finish(h->air, h->finder);
  }
  close_stretch(h);
  return sr_sound_finder_lost(h->finder) || h->stretch_lost ? SR_NO_MEMORY : SR_OK;
}

static void
report_stretch(const SrHear* const h, const Stretch* const stretch, SrEvent* const event)
{
  *event = (SrEvent){.kind = SR_EVENT_UNHEARD,
                     .onset_s = h->start_s + (double)stretch->start / h->rate_hz,
                     .end_s = h->start_s + (double)stretch->end / h->rate_hz,
                     .midi = -1,
                     .frequency_hz = (double)NAN,
                     .level_db = (double)NAN,
                     .fall_db = (double)NAN,
                     .phase_kept = (double)NAN};
}

/// Convert from the time since the start of listening to the time since the first sample.
static void
place_event(const SrHear* const h, SrEvent* const event)
{
  event->onset_s += h->start_s;
  event->end_s += h->start_s;
}

bool
sr_hear_pull(SrHear* const h, SrEvent* const event)
{
  if (h->stretch_next < h->stretch_count) {
    report_stretch(h, &h->stretches[h->stretch_next++], event);
    return true;
  }
  h->stretch_next = 0;
  h->stretch_count = 0;
  if (!sr_sound_finder_pull(h->finder, event)) {
    return false;
  }
  place_event(h, event);
  return true;
}

bool
sr_hear_unheard(const SrHear* const h, SrEvent* const event)
{
  if (h->open.end == 0) {
    return false;
  }
  report_stretch(h, &h->open, event);
  return true;
}

size_t
sr_hear_open(SrHear* const h, const double least_seen_s, SrOpenSound* const open, const size_t room)
{
  const size_t count = sr_sound_finder_open(h->finder, least_seen_s, open, room);
  for (size_t i = 0; i < count; ++i) {
    place_event(h, &open[i].event);
  }
  return count;
}

double
sr_hear_heard_s(const SrHear* const h)
{
  return h->start_s +
         (double)sr_sound_finder_frames(h->finder) * sr_sound_finder_frame_s(h->finder);
}

bool
sr_hear_pull_air(SrHear* const h, SrAirHeard* const heard)
{
  if (!sr_air_finder_pull(h->air, heard)) {
    return false;
  }
  heard->start_s += h->start_s;
  heard->end_s += h->start_s;
  return true;
}

void
sr_hear_at_once(SrHear* const h)
{
  sr_block_at_once(h->block);
}

void
sr_hear_without_air(SrHear* const h)
{
  h->without_air = true;
}

SrStatus
sr_hear_air_later(SrHear* const h)
{
  return sr_air_finder_wait(h->air) ? SR_OK : SR_NO_MEMORY;
}

SrAirCarriage
sr_hear_air_carriage(const SrHear* const h)
{
  return sr_air_finder_carriage(h->air);
}
