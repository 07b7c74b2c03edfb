// SPDX-License-Identifier: GPL-3.0-or-later

#include "kept_sound.h"

#include <math.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>

/// Length of a block, s: what is dropped at once.
#define BLOCK_S 0.5
/// Kept before and after a round, s.
#define AROUND_S 1.5
/// Copied with a round, s: before it, and after it, where its last note dies away.
#define BEFORE_S 0.3
#define AFTER_S 0.7
/// Full scale.
#define FULL 32767.0f

typedef struct {
  uint64_t number; ///< Distance of its first sample from the start, blocks
  int16_t* samples;
} Block;

typedef struct {
  double start_s;
  double end_s;
} Round;

struct SrKeptSoundImpl {
  pthread_mutex_t lock;
  double rate_hz;
  size_t block; ///< Samples in a block
  uint64_t heard;
  Block* blocks; ///< In order; the last may be incomplete
  size_t count;
  size_t most; ///< Room for blocks, all that are ever kept
  Round* rounds;
  size_t round_count;
};

SrKeptSound*
sr_kept_sound_new(const double rate_hz, const size_t most_bytes)
{
  SrKeptSound* const s = (SrKeptSound*)calloc(1, sizeof(SrKeptSound));
  if (!s) {
    return NULL;
  }
  s->rate_hz = rate_hz;
  s->block = (size_t)(BLOCK_S * rate_hz);
  const size_t most = most_bytes / (s->block * sizeof(int16_t));
  s->most = most < 1 ? 1 : most;
  s->blocks = (Block*)calloc(s->most, sizeof(Block));
  if (!s->blocks || pthread_mutex_init(&s->lock, NULL) != 0) {
    free(s->blocks);
    free(s);
    return NULL;
  }
  return s;
}

void
sr_kept_sound_del(SrKeptSound* const s)
{
  if (!s) {
    return;
  }
  for (size_t i = 0; i < s->count; ++i) {
    free(s->blocks[i].samples);
  }
  pthread_mutex_destroy(&s->lock);
  free(s->blocks);
  free(s->rounds);
  free(s);
}

/// Whether a block lies in a round or near one. The last rounds are asked first.
static bool
is_of_round(const SrKeptSound* const s, const Block* const block)
{
  const double start_s = (double)(block->number * s->block) / s->rate_hz;
  const double end_s = start_s + (double)s->block / s->rate_hz;
  for (size_t i = s->round_count; i > 0; --i) {
    const Round* const round = &s->rounds[i - 1];
    if (end_s > round->start_s - AROUND_S && start_s < round->end_s + AROUND_S) {
      return true;
    }
    if (start_s > round->end_s + AROUND_S) {
      return false;
    }
  }
  return false;
}

/// Drop what is no longer needed, and, if there is no room, the oldest block.
static void
drop_unneeded(SrKeptSound* const s, const double needed_s)
{
  size_t kept = 0;
  size_t spare = s->count == s->most ? 1 : 0;
  for (size_t i = 0; i < s->count; ++i) {
    const Block block = s->blocks[i];
    const double end_s = (double)((block.number + 1) * s->block) / s->rate_hz;
    const bool needed = end_s >= needed_s || is_of_round(s, &block);
    if (needed && spare == 0) {
      s->blocks[kept++] = block;
    } else {
      free(block.samples);
      spare = 0; // any that goes makes room
    }
  }
  s->count = kept;
}

/// The block of the next sample; NULL without memory.
static Block*
block_of_next(SrKeptSound* const s, const double needed_s)
{
  const uint64_t number = s->heard / s->block;
  if (s->count && s->blocks[s->count - 1].number == number) {
    return &s->blocks[s->count - 1];
  }
  // Only from its start: a block that began without memory would hold what was never heard
  if (s->heard % s->block != 0) {
    return NULL;
  }
  drop_unneeded(s, needed_s);
  int16_t* const samples = (int16_t*)calloc(s->block, sizeof(int16_t));
  if (!samples) {
    return NULL;
  }
  s->blocks[s->count] = (Block){number, samples};
  return &s->blocks[s->count++];
}

static int16_t
sample_of(const float x)
{
  const float bounded = isfinite(x) ? fminf(1.0f, fmaxf(-1.0f, x)) : 0.0f;
  return (int16_t)lrintf(FULL * bounded);
}

void
sr_kept_sound_add(SrKeptSound* const s, const float* const samples, const size_t count,
                  const double needed_s)
{
  pthread_mutex_lock(&s->lock);
  for (size_t done = 0; done < count;) {
    const size_t at = (size_t)(s->heard % s->block);
    const size_t part = count - done < s->block - at ? count - done : s->block - at;
    Block* const block = block_of_next(s, needed_s);
    for (size_t i = 0; block && i < part; ++i) {
      block->samples[at + i] = sample_of(samples[done + i]);
    }
    s->heard += part;
    done += part;
  }
  pthread_mutex_unlock(&s->lock);
}

void
sr_kept_sound_round(SrKeptSound* const s, const double start_s, const double end_s)
{
  pthread_mutex_lock(&s->lock);
  Round* const more = (Round*)realloc(s->rounds, (s->round_count + 1) * sizeof(Round));
  if (more) {
    s->rounds = more;
    s->rounds[s->round_count++] = (Round){start_s, end_s};
  }
  pthread_mutex_unlock(&s->lock);
}

/// Copy part of a block; false if it is not kept. The next block is asked first.
static bool
copy_part(const SrKeptSound* const s, size_t* const place, const uint64_t from, const size_t count,
          float* const samples)
{
  const uint64_t number = from / s->block;
  while (*place < s->count && s->blocks[*place].number < number) {
    ++*place;
  }
  if (*place == s->count || s->blocks[*place].number != number) {
    return false;
  }
  const int16_t* const kept = s->blocks[*place].samples + from % s->block;
  for (size_t i = 0; i < count; ++i) {
    samples[i] = (float)kept[i] / FULL;
  }
  return true;
}

/// Copy samples; the lock is held.
static SrStatus
copy(const SrKeptSound* const s, const uint64_t from, const uint64_t to, float** const samples,
     size_t* const count, SrError* const error)
{
  const size_t size = (size_t)(to - from);
  float* const copied = (float*)malloc(size * sizeof(float));
  if (!copied) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to copy what was played.");
  }
  size_t place = 0;
  for (uint64_t at = from; at < to;) {
    const size_t rest = s->block - (size_t)(at % s->block);
    const size_t part = to - at < rest ? (size_t)(to - at) : rest;
    if (!copy_part(s, &place, at, part, copied + (at - from))) {
      free(copied);
      return sr_error_set(error, SR_NOT_FOUND, "What was played then is not in memory any more.");
    }
    at += part;
  }
  *samples = copied;
  *count = size;
  return SR_OK;
}

SrStatus
sr_kept_sound_copy(SrKeptSound* const s, const double from_s, const double to_s,
                   float** const samples, size_t* const count, SrError* const error)
{
  *samples = NULL;
  *count = 0;
  if (!(from_s >= 0.0 && to_s > from_s)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "Nothing is heard from %.3f s to %.3f s.", from_s,
                        to_s);
  }
  pthread_mutex_lock(&s->lock);
  const double heard_s = (double)s->heard / s->rate_hz;
  const uint64_t from = (uint64_t)llround(fmin(from_s, heard_s) * s->rate_hz);
  const uint64_t to = (uint64_t)llround(fmin(to_s, heard_s) * s->rate_hz);
  const SrStatus status =
      to > from ? copy(s, from, to, samples, count, error)
                : sr_error_set(error, SR_NOT_FOUND, "Nothing was heard yet at %.1f s.", from_s);
  pthread_mutex_unlock(&s->lock);
  return status;
}

SrStatus
sr_kept_sound_copy_round(SrKeptSound* const s, const unsigned round, float** const samples,
                         size_t* const count, double* const start_s, SrError* const error)
{
  *samples = NULL;
  *count = 0;
  pthread_mutex_lock(&s->lock);
  const bool played = round >= 1 && round <= s->round_count;
  const Round found = played ? s->rounds[round - 1] : (Round){0.0, 0.0};
  pthread_mutex_unlock(&s->lock);
  if (!played) {
    return sr_error_set(error, SR_NOT_FOUND, "No round %u was played.", round);
  }
  const double from_s = fmax(0.0, found.start_s - BEFORE_S);
  const SrStatus status =
      sr_kept_sound_copy(s, from_s, found.end_s + AFTER_S, samples, count, error);
  if (status == SR_OK && start_s) {
    *start_s = from_s;
  }
  return status;
}
