// SPDX-License-Identifier: GPL-3.0-or-later

#include "kept_takes.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static unsigned take_number;

/// What a kept take was made of, as far as two of a run differ.
typedef struct {
  size_t notes;
  uint64_t seed;
  double bpm;
  double floor_db;
  unsigned rounds;
  ReedKind kind;
} Key;

static Key
key_of(const SrPhrase* const phrase, const TakePlan* const plan)
{
  Key key;
  memset(&key, 0, sizeof(key)); // the padding too
  key.notes = sr_phrase_note_count(phrase);
  key.seed = plan->seed;
  key.bpm = plan->bpm;
  key.floor_db = plan->floor_db;
  key.rounds = plan->rounds;
  key.kind = plan->kind;
  return key;
}

/// Name of the file of the take with the current number; false if none are kept.
static bool
name_of(char* const path, const size_t size)
{
  const char* const prefix = getenv("STEADYREED_KEPT_TAKES");
  return prefix && snprintf(path, size, "%s%u", prefix, take_number) < (int)size;
}

/// Read or write an array; memory for one that is read is allocated.
static bool
pass(FILE* const file, const bool write, void** const array, const size_t size, const size_t count)
{
  if (write) {
    return fwrite(*array, size, count, file) == count;
  }
  *array = calloc(count ? count : 1, size);
  return *array && fread(*array, size, count, file) == count;
}

static bool
pass_take(FILE* const file, const bool write, Take* const take)
{
  bool good = pass(file, write, (void**)&take->samples, sizeof(float), take->count) &&
              pass(file, write, (void**)&take->rounds, sizeof(TruthRound), take->round_count) &&
              pass(file, write, (void**)&take->pauses, sizeof(TruthPause), take->pause_count) &&
              pass(file, write, (void**)&take->air, sizeof(TruthAir), take->air_count) &&
              pass(file, write, (void**)&take->extra_s, sizeof(double), take->insertion_count) &&
              pass(file, write, (void**)&take->under, sizeof(TruthUnder), take->under_count);
  for (size_t r = 0; good && r < take->round_count; ++r) {
    good = pass(file, write, (void**)&take->rounds[r].notes, sizeof(TruthNote), take->note_count);
  }
  return good;
}

Take*
kept_take_read(const SrPhrase* const phrase, const TakePlan* const plan)
{
  char path[512];
  ++take_number;
  FILE* const file = name_of(path, sizeof(path)) ? fopen(path, "rb") : NULL;
  if (!file) {
    return NULL;
  }
  const Key asked = key_of(phrase, plan);
  Key key;
  Take* take = (Take*)calloc(1, sizeof(Take));
  const bool same = take && fread(&key, sizeof(key), 1, file) == 1 &&
                    memcmp(&key, &asked, sizeof(key)) == 0 &&
                    fread(take, sizeof(*take), 1, file) == 1;
  if (!same || !pass_take(file, false, take)) {
    free(take); // another take, or one that was cut short: a new one is made
    take = NULL;
  }
  fclose(file);
  return take;
}

void
kept_take_write(const SrPhrase* const phrase, const TakePlan* const plan, const Take* const take)
{
  char path[512];
  char temporary[544];
  if (!name_of(path, sizeof(path))) {
    return;
  }
  snprintf(temporary, sizeof(temporary), "%s.%ld", path, (long)getpid());
  FILE* const file = fopen(temporary, "wb");
  if (file) {
    const Key key = key_of(phrase, plan);
    Take copy = *take;
    const bool written = fwrite(&key, sizeof(key), 1, file) == 1 &&
                         fwrite(&copy, sizeof(copy), 1, file) == 1 && pass_take(file, true, &copy);
    const bool closed = fclose(file) == 0;
    if (!written || !closed || rename(temporary, path)) {
      remove(temporary);
    }
  }
}
