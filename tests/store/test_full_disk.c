// SPDX-License-Identifier: GPL-3.0-or-later

// A disk that is full: what came before is kept, and the player is reported.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "kept.h"
#include "run_program.h"

#include <steadyreed/audio.h>
#include <steadyreed/recording.h>

#include <fcntl.h>
#include <sched.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#define RATE_HZ 16000
#define CHUNK 1600

static char* folder;
static char* path;

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  path = folder_path(folder, "take.flac");
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(folder);
  free(path);
  return 0;
}

/// Record until it fails; the frames that were taken until then. `error` tells why.
static uint64_t
record_until_full(SrRecording* const recording, SrError* const error)
{
  uint64_t at = 0;
  for (;;) {
    float samples[CHUNK];
    for (size_t i = 0; i < CHUNK; ++i) {
      samples[i] = noise_float(at + i);
    }
    if (sr_recording_write(recording, samples, CHUNK, error) != SR_OK) {
      return at;
    }
    at += CHUNK;
    assert_true(at < 100 * (uint64_t)RATE_HZ);
  }
}

/// The whole course of a recording that comes to the end of the disk.
static void
assert_full_disk(const char* const wanted_word)
{
  SrRecording* recording = NULL;
  SrError error = {0};
  assert_int_equal(sr_recording_new(path, (double)RATE_HZ, "full", &recording, &error), SR_OK);
  const uint64_t taken = record_until_full(recording, &error);
  assert_true(taken > RATE_HZ);
  assert_int_equal(error.status, SR_WRITE_FAILED);
  assert_string_equal(error.file, path);
  assert_non_null(strstr(error.message, wanted_word));
  print_message("%s\n", error.message);

  // Ever after the same, also when there is room again, for a gap would shift all that follows.
  SrError again = {0};
  const float sample = 0.25f;
  assert_int_equal(sr_recording_write(recording, &sample, 1, &again), SR_WRITE_FAILED);
  assert_string_equal(error.message, again.message);
  const uint64_t reported = sr_recording_frames(recording);
  assert_int_equal(sr_recording_finish(recording, &again), SR_WRITE_FAILED);
  assert_string_equal(error.message, again.message);

  Kept kept = kept_read(path);
  assert_int_equal(kept.count, reported);
  assert_in_range(kept.count, taken - RATE_HZ, taken + CHUNK);
  for (size_t i = 0; i < kept.count; ++i) {
    assert_int_equal(kept.samples[i], noise_at(i));
  }
  // No half frame is left at its end.
  assert_true(flac_finds_no_fault(path));
  kept_clear(&kept);
  SrTakeReader* reader = NULL;
  assert_int_equal(sr_take_reader_new(path, &reader, NULL), SR_OK);
  static float samples[100 * RATE_HZ];
  assert_int_equal(sr_take_reader_read(reader, samples, 100 * (size_t)RATE_HZ), reported);
  assert_false(sr_take_reader_reading(reader).truncated);
  sr_take_reader_del(reader);
}

/// The disk fills while the last block is written: the rest of a block is lost, no more.
static void
assert_full_at_the_end(void)
{
  SrRecording* recording = NULL;
  SrError error = {0};
  unlink(path);
  assert_int_equal(sr_recording_new(path, (double)RATE_HZ, "full", &recording, &error), SR_OK);
  static float samples[2 * 4096 + 4000];
  for (size_t i = 0; i < 2 * 4096 + 4000; ++i) {
    samples[i] = noise_float(i);
  }
  assert_int_equal(sr_recording_write(recording, samples, 2 * 4096 + 4000, &error), SR_OK);
  struct stat status;
  assert_int_equal(stat(path, &status), 0);
  struct rlimit before;
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
  const struct rlimit little = {(rlim_t)status.st_size + 100, before.rlim_max};
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &little), 0);
  const SrStatus outcome = sr_recording_finish(recording, &error);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
  assert_int_equal(outcome, SR_WRITE_FAILED);
  Kept kept = kept_read(path);
  assert_int_equal(kept.count, 2 * 4096);
  kept_clear(&kept);
  assert_true(flac_finds_no_fault(path));
  unlink(path);
}

static void
limit_of_file_size(void** const state)
{
  (void)state;
  // Else the signal would end the program.
  signal(SIGXFSZ, SIG_IGN);
  struct rlimit before;
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
  const struct rlimit little = {200001, before.rlim_max};
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &little), 0);
  assert_full_disk("Files cannot be larger");
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);

  // Cutting needs room for what stays.
  const SrStretch part = {100, UINT64_MAX};
  const struct rlimit less = {100000, before.rlim_max};
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &less), 0);
  SrError error = {0};
  assert_int_equal(sr_recording_cut(path, &part, 1, NULL, &error), SR_WRITE_FAILED);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
  assert_non_null(strstr(error.message, "it is unchanged"));
  assert_string_equal(error.file, path);
  assert_int_equal(count_files(folder), 1);
  Kept kept = kept_read(path);
  assert_true(kept.count > RATE_HZ);
  kept_clear(&kept);

  // Not even the header has room.
  unlink(path);
  const struct rlimit nothing = {10, before.rlim_max};
  SrRecording* recording = NULL;
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &nothing), 0);
  const SrStatus outcome = sr_recording_new(path, (double)RATE_HZ, NULL, &recording, &error);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
  assert_int_equal(outcome, SR_WRITE_FAILED);
  assert_null(recording);
  assert_non_null(strstr(error.message, "Nothing was recorded"));
  assert_false(exists(path));

  assert_full_at_the_end();
}

/// Write a text to a file of /proc.
static bool
tell_kernel(const char* const file, const char* const text)
{
  const int descriptor = open(file, O_WRONLY | O_CLOEXEC);
  if (descriptor < 0) {
    return false;
  }
  const bool good = write(descriptor, text, strlen(text)) == (ssize_t)strlen(text);
  close(descriptor);
  return good;
}

/// A disk of 256 kB of our own, seen by this process only. False if the system lets us have none.
static bool
mount_small_disk(void)
{
  char user[64];
  char group[64];
  snprintf(user, sizeof(user), "0 %u 1", (unsigned)getuid());
  snprintf(group, sizeof(group), "0 %u 1", (unsigned)getgid());
  if (unshare(CLONE_NEWNS)) {
    if (unshare(CLONE_NEWUSER | CLONE_NEWNS) || !tell_kernel("/proc/self/uid_map", user) ||
        !tell_kernel("/proc/self/setgroups", "deny") || !tell_kernel("/proc/self/gid_map", group)) {
      return false;
    }
  }
  return !mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) &&
         !mount("small", folder, "tmpfs", MS_NOSUID | MS_NODEV, "size=256k");
}

static void
small_disk(void** const state)
{
  (void)state;
  unlink(path);
  if (!mount_small_disk()) {
    print_message("No small disk may be mounted here.\n");
    skip();
  }
  assert_full_disk("disk is full");

  // There is no room beside the take, so it is not cut, and stays.
  const SrStretch part = {100, UINT64_MAX};
  SrError error = {0};
  assert_int_equal(sr_recording_cut(path, &part, 1, NULL, &error), SR_WRITE_FAILED);
  assert_non_null(strstr(error.message, "disk is full"));
  assert_non_null(strstr(error.message, "it is unchanged"));
  assert_int_equal(count_files(folder), 1);
  assert_true(flac_finds_no_fault(path));

  // When the last page is taken, nothing can be begun.
  char* const filler = folder_path(folder, "filler");
  const int descriptor = open(filler, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
  assert_true(descriptor >= 0);
  static const char page[4096];
  while (write(descriptor, page, sizeof(page)) > 0) {
  }
  close(descriptor);
  free(filler);
  SrRecording* recording = NULL;
  char* const other = folder_path(folder, "other.flac");
  assert_int_equal(sr_recording_new(other, (double)RATE_HZ, NULL, &recording, &error),
                   SR_WRITE_FAILED);
  assert_null(recording);
  assert_non_null(strstr(error.message, "full"));
  assert_false(exists(other));
  free(other);
  folder_remove(folder);
  assert_int_equal(umount2(folder, MNT_DETACH), 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(limit_of_file_size),
      cmocka_unit_test(small_disk),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
