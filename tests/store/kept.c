// SPDX-License-Identifier: GPL-3.0-or-later

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "kept.h"

#include "run_program.h"

#include <sndfile.h>

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

int32_t
noise_at(const uint64_t i)
{
  // The finaliser of SplitMix64 (Steele, Lea and Flood 2014), from memory.
  uint64_t z = (i + 1) * UINT64_C(0x9E3779B97F4A7C15);
  z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
  z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
  z ^= z >> 31;
  return (int32_t)(z & 0xFFFFFFu) - 8388608;
}

float
noise_float(const uint64_t i)
{
  return (float)noise_at(i) / 8388608.0f;
}

Kept
kept_read(const char* const path)
{
  Kept kept = {0};
  SF_INFO info = {0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  assert_non_null(file);
  assert_int_equal(info.format, SF_FORMAT_FLAC | SF_FORMAT_PCM_24);
  assert_int_equal(info.channels, 1);
  kept.rate_hz = info.samplerate;
  kept.promised = info.frames;
  size_t room = 0;
  sf_count_t got = 0;
  do {
    kept.count += (size_t)got;
    if (room - kept.count < 4096) {
      room = 2 * room + 65536;
      kept.samples = realloc(kept.samples, room * sizeof(int32_t));
      assert_non_null(kept.samples);
    }
    got = sf_readf_int(file, kept.samples + kept.count, 4096);
  } while (got > 0);
  sf_close(file);
  for (size_t i = 0; i < kept.count; ++i) {
    assert_int_equal(kept.samples[i] & 255, 0);
    kept.samples[i] /= 256;
  }
  return kept;
}

void
kept_clear(Kept* const kept)
{
  free(kept->samples);
  memset(kept, 0, sizeof(*kept));
}

bool
flac_is_there(void)
{
  const char* const arguments[] = {"flac", "--version", NULL};
  ProgramRun run = run_program(arguments);
  const bool there = run.status == 0;
  run_clear(&run);
  return there;
}

bool
kept_read_by_flac(const char* const path, Kept* const kept)
{
  memset(kept, 0, sizeof(*kept));
  if (!flac_is_there()) {
    return false;
  }
  char raw[] = "/tmp/steadyreed-raw-XXXXXX";
  const int descriptor = mkstemp(raw);
  assert_true(descriptor >= 0);
  const char* const arguments[] = {"flac",
                                   "--decode",
                                   "--decode-through-errors",
                                   "--force",
                                   "--silent",
                                   "--force-raw-format",
                                   "--endian=little",
                                   "--sign=signed",
                                   "-o",
                                   raw,
                                   path,
                                   NULL};
  ProgramRun run = run_program(arguments);
  run_clear(&run);
  // It puts a new file in the place of the old.
  FILE* const file = fopen(raw, "rb");
  assert_non_null(file);
  struct stat status;
  assert_int_equal(fstat(fileno(file), &status), 0);
  kept->count = (size_t)status.st_size / 3;
  kept->samples = malloc(kept->count * sizeof(int32_t) + 1);
  assert_non_null(kept->samples);
  for (size_t i = 0; i < kept->count; ++i) {
    unsigned char bytes[3];
    assert_int_equal(fread(bytes, 1, 3, file), 3);
    kept->samples[i] =
        (bytes[0] | (bytes[1] << 8) | (bytes[2] << 16)) - (bytes[2] & 0x80 ? 1 << 24 : 0);
  }
  fclose(file);
  close(descriptor);
  unlink(raw);
  return true;
}

bool
flac_finds_no_fault(const char* const path)
{
  if (!flac_is_there()) {
    return true;
  }
  const char* const arguments[] = {"flac", "--test", "--silent", path, NULL};
  ProgramRun run = run_program(arguments);
  const bool good = run.status == 0;
  run_clear(&run);
  return good;
}

unsigned
mode_of(const char* const path)
{
  struct stat status;
  assert_int_equal(lstat(path, &status), 0);
  return status.st_mode & 07777u;
}

bool
exists(const char* const path)
{
  struct stat status;
  return lstat(path, &status) == 0;
}

size_t
count_files(const char* const folder)
{
  DIR* const list = opendir(folder);
  assert_non_null(list);
  size_t count = 0;
  const struct dirent* entry;
  while ((entry = readdir(list))) {
    count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0 ? 1 : 0;
  }
  closedir(list);
  return count;
}
