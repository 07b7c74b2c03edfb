// SPDX-License-Identifier: GPL-3.0-or-later

#include "kept_takes.h"

#include <stdio.h>
#include <stdlib.h>

static unsigned take_number;

/// The file of the take with the current number; NULL if none is kept.
static FILE*
open_kept(const char* const mode)
{
  const char* const prefix = getenv("STEADYREED_KEPT_TAKES");
  char path[512];
  if (!prefix) {
    return NULL;
  }
  snprintf(path, sizeof(path), "%s%u", prefix, take_number);
  return fopen(path, mode);
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
kept_take_read(void)
{
  ++take_number;
  FILE* const file = open_kept("rb");
  if (!file) {
    return NULL;
  }
  Take* take = (Take*)calloc(1, sizeof(Take));
  if (take && (fread(take, sizeof(*take), 1, file) != 1 || !pass_take(file, false, take))) {
    free(take); // the file was cut short
    take = NULL;
  }
  fclose(file);
  return take;
}

void
kept_take_write(const Take* const take)
{
  FILE* const file = open_kept("wb");
  if (file) {
    Take copy = *take;
    fwrite(&copy, sizeof(copy), 1, file);
    pass_take(file, true, &copy);
    fclose(file);
  }
}
