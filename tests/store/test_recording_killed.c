// SPDX-License-Identifier: GPL-3.0-or-later

// A recorder is killed at any moment; what it left is compared with what it wrote.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "kept.h"
#include "run_program.h"

#include <steadyreed/audio.h>
#include <steadyreed/recording.h>

#include <math.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define RATE_HZ 16000
#define KILLS 40
#define CHUNK 512
/// What the note is while it is recorded.
#define LATER "killed, and it was known"

/// Shared by the child and the test.
typedef struct {
  atomic_bool begun;
  atomic_uint_fast64_t given; ///< Frames before the call that runs
  atomic_uint_fast64_t done;  ///< Frames of the calls that returned
  atomic_bool noted;          ///< The note was written again
} Course;

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
remove_take(void** const state)
{
  (void)state;
  unlink(path);
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

/// Record without end, as fast as it goes, so that a kill often comes within a write().
static _Noreturn void
record(Course* const course)
{
  SrRecording* recording = NULL;
  if (sr_recording_new(path, (double)RATE_HZ, "killed", &recording, NULL) != SR_OK) {
    _exit(1);
  }
  atomic_store(&course->begun, true);
  for (uint64_t at = 0;; at += CHUNK) {
    float samples[CHUNK];
    for (size_t i = 0; i < CHUNK; ++i) {
      samples[i] = noise_float(at + i);
    }
    atomic_store(&course->given, at + CHUNK);
    if (sr_recording_write(recording, samples, CHUNK, NULL) != SR_OK) {
      _exit(2);
    }
    atomic_store(&course->done, at + CHUNK);
    if (at == (uint64_t)CHUNK * 20) {
      if (!sr_recording_set_note(recording, LATER)) {
        _exit(3);
      }
      atomic_store(&course->noted, true);
    }
  }
}

static void
assert_noise(const Kept* const kept, const uint64_t least, const uint64_t most)
{
  assert_in_range(kept->count, least, most);
  for (size_t i = 0; i < kept->count; ++i) {
    if (kept->samples[i] != noise_at(i)) {
      fail_msg("sample %zu of %zu is %d, not %d", i, kept->count, kept->samples[i], noise_at(i));
    }
  }
}

/// What our own reader makes of it: all of it, no word of a length that nobody knows, and that it
/// breaks off only if it does so within a frame, which is where Debian's flac finds fault.
static void
assert_read_truly(const size_t count)
{
  SrTakeReader* reader = NULL;
  assert_int_equal(sr_take_reader_new(path, &reader, NULL), SR_OK);
  static float samples[16384];
  size_t total = 0;
  size_t got;
  while ((got = sr_take_reader_read(reader, samples, 16384)) > 0) {
    total += got;
  }
  assert_int_equal(total, count);
  const SrTakeReading reading = sr_take_reader_reading(reader);
  if (flac_is_there()) {
    assert_int_equal(reading.truncated, !flac_finds_no_fault(path));
  }
  assert_true(isnan(reading.promised_seconds));
  sr_take_reader_del(reader);
}

/// Wait until the child has come so far, however busy the machine: 0 nowhere yet, 1 begun, 2 a
/// second and the new note written.
static void
wait_for(Course* const course, const unsigned stage)
{
  const struct timespec moment = {0, 100000};
  for (unsigned tries = 0; tries < 100000; ++tries) {
    const bool begun = atomic_load(&course->begun);
    const bool noted = atomic_load(&course->noted) && atomic_load(&course->done) > RATE_HZ;
    if (stage == 0 || (stage == 1 && begun) || noted) {
      return;
    }
    nanosleep(&moment, NULL);
  }
}

static void
killed_at_any_moment(void** const state)
{
  (void)state;
  Course* const course =
      mmap(NULL, sizeof(Course), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  assert_true(course != MAP_FAILED);
  size_t samples = 0;
  uint64_t most_lost = 0;
  unsigned noted = 0;
  for (unsigned kill_number = 0; kill_number < KILLS; ++kill_number) {
    memset(course, 0, sizeof(*course));
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
      record(course);
    }
    wait_for(course, kill_number % 3);
    // … and up to 2 ms, 8 ms, 30 ms later
    const uint32_t random = (uint32_t)(noise_at(kill_number + 1000u) + 8388608);
    const long most_ns = kill_number % 3 == 0 ? 2000000 : kill_number % 3 == 1 ? 8000000 : 30000000;
    const struct timespec wait = {0, (long)(random % 1000u) * (most_ns / 1000)};
    nanosleep(&wait, NULL);
    assert_int_equal(kill(child, SIGKILL), 0);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);

    const uint64_t given = atomic_load(&course->given);
    const uint64_t done = atomic_load(&course->done);
    struct stat file;
    const bool there = stat(path, &file) == 0 && file.st_size > 0;
    assert_true(there || !atomic_load(&course->begun));
    if (there) {
      Kept kept = kept_read(path);
      assert_noise(&kept, done > RATE_HZ ? done - RATE_HZ : 0, given);
      most_lost = given - kept.count > most_lost ? given - kept.count : most_lost;
      samples += kept.count;
      assert_read_truly(kept.count);
      const size_t count = kept.count;
      kept_clear(&kept);
      if (kept_read_by_flac(path, &kept)) {
        assert_noise(&kept, done > RATE_HZ ? done - RATE_HZ : 0, given);
        kept_clear(&kept);
      }
      char note[SR_TAKE_NOTE_SIZE];
      assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
      const bool later = !strcmp(note, LATER);
      assert_true(later || (!strcmp(note, "killed") && !atomic_load(&course->noted)));
      noted += later;
      if (count > 0) {
        const SrStretch all = {0, UINT64_MAX};
        assert_int_equal(sr_recording_cut(path, &all, 1, NULL, NULL), SR_OK);
        kept = kept_read(path);
        assert_int_equal(kept.promised, count);
        assert_noise(&kept, count, count);
        kept_clear(&kept);
        assert_true(flac_finds_no_fault(path));
      }
    }
    unlink(path);
  }
  print_message("%d kills, %zu samples compared, at most %.3f s lost at %d Hz\n", KILLS, samples,
                (double)most_lost / RATE_HZ, RATE_HZ);
  // Else nothing was tested.
  assert_true(samples > RATE_HZ && noted > 0);
  munmap(course, sizeof(Course));
}

/// A kill may come within a write(), and a disk may break off anywhere: every length of a file.
static void
broken_off_at_each_byte(void** const state)
{
  (void)state;
  SrRecording* recording = NULL;
  assert_int_equal(sr_recording_new(path, (double)RATE_HZ, "killed", &recording, NULL), SR_OK);
  struct stat status;
  assert_int_equal(stat(path, &status), 0);
  const off_t header = status.st_size;
  // A kill can come between two pages, and what is no whole header cannot be read
  assert_in_range(header, 1, 4096);
  static float samples[3 * 4096 + 1];
  for (size_t i = 0; i < 3 * 4096 + 1; ++i) {
    // Small numbers, for a small file.
    const int32_t small = noise_at(i) / 65536;
    samples[i] = (float)small / 8388608.0f;
  }
  assert_int_equal(sr_recording_write(recording, samples, 3 * 4096 + 1, NULL), SR_OK);
  assert_int_equal(stat(path, &status), 0);
  // While it is recorded: what was handed over so far is what a kill would leave.
  char* const part = folder_path(folder, "part.flac");
  char* const bytes = malloc((size_t)status.st_size);
  assert_non_null(bytes);
  FILE* file = fopen(path, "rb");
  assert_int_equal(fread(bytes, 1, (size_t)status.st_size, file), (size_t)status.st_size);
  fclose(file);
  size_t last = 0;
  for (off_t size = header; size <= status.st_size; size += size < header + 8 ? 1 : 7) {
    file = fopen(part, "wb");
    assert_int_equal(fwrite(bytes, 1, (size_t)size, file), (size_t)size);
    fclose(file);
    Kept kept = kept_read(part);
    assert_int_equal(kept.count % 4096, 0);
    assert_true(kept.count >= last);
    last = kept.count;
    for (size_t i = 0; i < kept.count; ++i) {
      assert_int_equal(kept.samples[i], noise_at(i) / 65536);
    }
    kept_clear(&kept);
  }
  assert_true(last >= 2 * (size_t)4096);
  free(bytes);
  free(part);
  sr_recording_discard(recording);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_teardown(killed_at_any_moment, remove_take),
      cmocka_unit_test_teardown(broken_off_at_each_byte, remove_take),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
