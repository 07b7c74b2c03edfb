// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fuzz_take.c
   Entry for a fuzzer (libFuzzer) into the reader of recordings. Built with STANDALONE it
   runs once over the files it is given.

   A file may be refused with one clear error. Else both passes must give the same samples.

   The decoding libraries are not instrumented.
*/

#include "kept_files.h"

#include <steadyreed/audio.h>

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/// Samples that are read at most: a few bytes may ask for hours of silence.
#define MOST_SAMPLES (1u << 20u)

static void
demand(const bool holds, const char* const what)
{
  if (!holds) {
    fprintf(stderr, "%s\n", what);
    abort();
  }
}

/// Read on in chunks of a size; returns the samples read, and adds their bits up.
static size_t
read_all(SrTakeReader* const reader, const size_t chunk, uint64_t* const sum)
{
  static float samples[5000];
  size_t count = 0;
  size_t got = 0;
  *sum = 0;
  do {
    got = sr_take_reader_read(reader, samples, chunk);
    demand(got <= chunk, "more samples than there is room");
    for (size_t i = 0; i < got; ++i) {
      uint32_t bits;
      // One NaN is as good as another
      const float sample = isnan(samples[i]) ? 2.0f : samples[i];
      memcpy(&bits, &sample, sizeof(bits));
      *sum = *sum * 31 + bits;
    }
    count += got;
  } while (got > 0 && count < MOST_SAMPLES);
  return count;
}

int
LLVMFuzzerTestOneInput(const uint8_t* const data, const size_t size)
{
  const int descriptor = memfd_create("take", MFD_CLOEXEC);
  char path[64];
  snprintf(path, sizeof(path), "/proc/self/fd/%d", descriptor);
  demand(descriptor >= 0 && write(descriptor, data, size) == (ssize_t)size, "no memory for it");
  SrTakeReader* reader = NULL;
  SrError error = {0};
  const SrStatus status = sr_take_reader_new(path, &reader, &error);
  demand((status == SR_OK) == (reader != NULL), "a reader and an error");
  if (!reader) {
    demand(error.status == status && error.message[0], "refused without a word");
    close(descriptor);
    return 0;
  }
  const double rate_hz = sr_take_reader_rate_hz(reader);
  demand(rate_hz >= SR_TAKE_LOWEST_RATE_HZ && rate_hz <= SR_TAKE_HIGHEST_RATE_HZ, "a wild rate");
  uint64_t first = 0;
  uint64_t second = 0;
  const size_t count = read_all(reader, 5000, &first);
  const SrTakeReading reading = sr_take_reader_reading(reader);
  demand(reading.channels > 0 && reading.seconds >= 0.0, "a wild reading");
  if (sr_take_reader_rewind(reader, &error) == SR_OK && count < MOST_SAMPLES) {
    demand(read_all(reader, 77, &second) == count && first == second, "passes that differ");
  }
  sr_take_reader_del(reader);
  close(descriptor);
  return 0;
}

#ifdef STANDALONE
/// Broken off everywhere.
static void
break_off(uint8_t* const data, const size_t size)
{
  for (size_t part = 0; part < size; part += 1 + size / 97) {
    LLVMFuzzerTestOneInput(data, part);
  }
}

int
main(const int argc, char** const argv)
{
  return sr_test_kept_files(argc, argv, break_off);
}
#endif
