// SPDX-License-Identifier: GPL-3.0-or-later

// What is recorded is what is read, bit by bit.

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
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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

static SrRecording*
begin(const double rate_hz, const char* const note)
{
  SrRecording* recording = NULL;
  SrError error = {0};
  if (sr_recording_new(path, rate_hz, note, &recording, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  assert_non_null(recording);
  return recording;
}

/// Write `count` samples of the noise from `start` on.
static SrStatus
write_noise(SrRecording* const recording, const uint64_t start, const size_t count)
{
  float* const samples = malloc(count * sizeof(float) + 1);
  assert_non_null(samples);
  for (size_t i = 0; i < count; ++i) {
    samples[i] = noise_float(start + i);
  }
  const SrStatus outcome = sr_recording_write(recording, samples, count, NULL);
  free(samples);
  return outcome;
}

static void
assert_noise(const Kept* const kept)
{
  for (size_t i = 0; i < kept->count; ++i) {
    if (kept->samples[i] != noise_at(i)) {
      fail_msg("sample %zu is %d, not %d", i, kept->samples[i], noise_at(i));
    }
  }
}

/// Any chunk, any rate: each of the 24 bits comes back, to libsndfile and to Debian's flac.
static void
each_bit_comes_back(void** const state)
{
  (void)state;
  static const struct {
    double rate_hz;
    size_t chunk;
    size_t count;
  } cases[] = {{16000.0, 1, 5000},       {22050.0, 4096, 40960}, {44100.0, 441, 100001},
               {48000.0, 65536, 131072}, {65535.0, 1000, 10000}, {96000.0, 4097, 30000},
               {192000.0, 256, 70000},   {48000.0, 100, 0},      {48000.0, 1, 1}};
  for (size_t c = 0; c < sizeof(cases) / sizeof(cases[0]); ++c) {
    SrRecording* const recording = begin(cases[c].rate_hz, "a note");
    for (size_t done = 0; done < cases[c].count;) {
      const size_t left = cases[c].count - done;
      const size_t size = left < cases[c].chunk ? left : cases[c].chunk;
      assert_int_equal(write_noise(recording, done, size), SR_OK);
      done += size;
      assert_int_equal(sr_recording_frames(recording), done);
    }
    assert_string_equal(sr_recording_path(recording), path);
    assert_int_equal(sr_recording_finish(recording, NULL), SR_OK);

    Kept kept = kept_read(path);
    assert_int_equal(kept.count, cases[c].count);
    assert_int_equal(kept.rate_hz, (int)cases[c].rate_hz);
    assert_noise(&kept);
    if (kept.count > 0) {
      assert_int_equal(kept.promised, cases[c].count);
    }
    kept_clear(&kept);
    assert_true(flac_finds_no_fault(path));
    if (kept_read_by_flac(path, &kept)) {
      assert_int_equal(kept.count, cases[c].count);
      assert_noise(&kept);
      kept_clear(&kept);
    }
    assert_int_equal(unlink(path), 0);
  }
}

static void
loud_and_no_numbers(void** const state)
{
  (void)state;
  static const struct {
    float given;
    int32_t kept;
  } cases[] = {
      {0.0f, 0},
      {1.0f, 8388607},
      {-1.0f, -8388608},
      {2.0f, 8388607},
      {-1e30f, -8388608},
      {INFINITY, 8388607},
      {-INFINITY, -8388608},
      {NAN, 0},
      {0.5f, 4194304},
      {1.4e-7f, 1},
      {1e-9f, 0},
      {0.9999999f, 8388607},
      {-0.0f, 0},
      {-0.25f, -2097152},
  };
  enum { COUNT = sizeof(cases) / sizeof(cases[0]) };
  float samples[COUNT];
  for (size_t i = 0; i < COUNT; ++i) {
    samples[i] = cases[i].given;
  }
  SrRecording* const recording = begin(48000.0, NULL);
  assert_int_equal(sr_recording_write(recording, samples, COUNT, NULL), SR_OK);
  assert_int_equal(sr_recording_finish(recording, NULL), SR_OK);
  Kept kept = kept_read(path);
  assert_int_equal(kept.count, COUNT);
  for (size_t i = 0; i < COUNT; ++i) {
    assert_int_equal(kept.samples[i], cases[i].kept);
  }
  kept_clear(&kept);
  assert_int_equal(unlink(path), 0);
}

static void
mode_is_0600_whatever_the_umask(void** const state)
{
  (void)state;
  static const mode_t masks[] = {0, 022, 077, 0777};
  for (size_t i = 0; i < sizeof(masks) / sizeof(masks[0]); ++i) {
    const mode_t before = umask(masks[i]);
    SrRecording* const recording = begin(48000.0, NULL);
    umask(before);
    assert_int_equal(mode_of(path), 0600);
    sr_recording_discard(recording);
    assert_false(exists(path));
  }
}

static void
what_is_there_is_not_touched(void** const state)
{
  (void)state;
  FILE* const file = fopen(path, "w");
  assert_non_null(file);
  fputs("mine", file);
  fclose(file);
  SrRecording* recording = NULL;
  SrError error;
  assert_int_equal(sr_recording_new(path, 48000.0, NULL, &recording, &error), SR_EXISTS);
  assert_null(recording);
  assert_string_equal(error.file, path);
  struct stat status;
  assert_int_equal(stat(path, &status), 0);
  assert_int_equal(status.st_size, 4);
  unlink(path);

  // Nor is what a link leads to made.
  char* const target = folder_path(folder, "target");
  assert_int_equal(symlink(target, path), 0);
  assert_int_equal(sr_recording_new(path, 48000.0, NULL, &recording, &error), SR_EXISTS);
  assert_false(exists(target));
  unlink(path);
  free(target);

  char* const nowhere = folder_path(folder, "nowhere/take.flac");
  assert_int_equal(sr_recording_new(nowhere, 48000.0, NULL, &recording, &error), SR_NOT_FOUND);
  assert_null(recording);
  free(nowhere);
}

static void
arguments_are_checked(void** const state)
{
  (void)state;
  static const double rates[] = {0.0, 15999.0, 192010.0, 44100.5, 96001.0, -1.0, NAN, INFINITY};
  SrRecording* recording = NULL;
  SrError error;
  for (size_t i = 0; i < sizeof(rates) / sizeof(rates[0]); ++i) {
    assert_int_equal(sr_recording_new(path, rates[i], NULL, &recording, &error), SR_BAD_ARGUMENT);
    assert_null(recording);
  }
  static char note[SR_TAKE_NOTE_SIZE + 1];
  memset(note, 'n', SR_TAKE_NOTE_SIZE);
  assert_int_equal(sr_recording_new(path, 48000.0, note, &recording, &error), SR_BAD_ARGUMENT);
  static const char* const bad[] = {"\xFF", "caf\xE9", "broken \xC3", "\xED\xA0\x80"};
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    assert_int_equal(sr_recording_new(path, 48000.0, bad[i], &recording, &error), SR_BAD_ARGUMENT);
  }
  assert_false(exists(path));
}

/// Before it returns, all but a block are with the system, at any rate.
static void
little_is_held_back(void** const state)
{
  (void)state;
  static const double rates[] = {16000.0, 48000.0, 192000.0};
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    SrRecording* const recording = begin(rates[r], NULL);
    // It opens before the first sample came.
    Kept kept = kept_read(path);
    assert_int_equal(kept.count, 0);
    kept_clear(&kept);
    uint64_t total = 0;
    for (size_t chunk = 1; chunk < 9000; chunk = chunk * 3 / 2 + 1) {
      assert_int_equal(write_noise(recording, total, chunk), SR_OK);
      total += chunk;
      kept = kept_read(path);
      assert_noise(&kept);
      assert_in_range(kept.count, total > 4096 ? total - 4096 : 0, total);
      kept_clear(&kept);
      assert_true(flac_finds_no_fault(path));
    }
    // Our reader takes it as it is and says nothing of an end that breaks off.
    SrTakeReader* reader = NULL;
    assert_int_equal(sr_take_reader_new(path, &reader, NULL), SR_OK);
    static float samples[65536];
    const size_t read = sr_take_reader_read(reader, samples, 65536);
    assert_in_range(read, total - 4096, total);
    for (size_t i = 0; i < read; ++i) {
      assert_true((int32_t)(samples[i] * 8388608.0f) == noise_at(i));
    }
    const SrTakeReading reading = sr_take_reader_reading(reader);
    assert_true(reading.ended);
    assert_false(reading.truncated);
    assert_true(isnan(reading.promised_seconds));
    sr_take_reader_del(reader);
    sr_recording_discard(recording);
    assert_false(exists(path));
  }
}

static void
descriptors_are_not_inherited_nor_left(void** const state)
{
  (void)state;
  const size_t before = count_files("/proc/self/fd");
  for (int i = 0; i < 10; ++i) {
    SrRecording* const recording = begin(48000.0, "x");
    char link[64];
    char target[4096];
    bool found = false;
    for (int d = 3; d < 100; ++d) {
      snprintf(link, sizeof(link), "/proc/self/fd/%d", d);
      const ssize_t length = readlink(link, target, sizeof(target) - 1);
      if (length > 0) {
        target[length] = '\0';
        if (strstr(target, "take.flac")) {
          found = true;
          assert_true(fcntl(d, F_GETFD) & FD_CLOEXEC);
        }
      }
    }
    assert_true(found);
    if (i % 2) {
      sr_recording_discard(recording);
    } else {
      assert_int_equal(sr_recording_finish(recording, NULL), SR_OK);
      unlink(path);
    }
  }
  SrRecording* none = NULL;
  sr_recording_discard(none);
  assert_int_equal(count_files("/proc/self/fd"), before);
}

/// A file that somebody removed is reported, and another in its place is left alone.
static void
removed_meanwhile(void** const state)
{
  (void)state;
  SrRecording* recording = begin(48000.0, NULL);
  assert_int_equal(write_noise(recording, 0, 10000), SR_OK);
  unlink(path);
  SrError error;
  static const float silence[10000];
  assert_int_equal(sr_recording_write(recording, silence, 10000, &error), SR_WRITE_FAILED);
  assert_string_equal(error.file, path);
  assert_non_null(strstr(error.message, "removed"));
  assert_null(strstr(error.message, "in the file"));
  assert_int_equal(sr_recording_frames(recording), 0);
  assert_int_equal(sr_recording_write(recording, silence, 1, &error), SR_WRITE_FAILED);
  FILE* const file = fopen(path, "w");
  fputs("another", file);
  fclose(file);
  sr_recording_discard(recording);
  assert_true(exists(path));
  unlink(path);
}

int
main(void)
{
  if (!flac_is_there()) {
    print_message("There is no flac program: the outside checks are left out.\n");
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_teardown(each_bit_comes_back, remove_take),
      cmocka_unit_test_teardown(loud_and_no_numbers, remove_take),
      cmocka_unit_test_teardown(mode_is_0600_whatever_the_umask, remove_take),
      cmocka_unit_test_teardown(what_is_there_is_not_touched, remove_take),
      cmocka_unit_test_teardown(arguments_are_checked, remove_take),
      cmocka_unit_test_teardown(little_is_held_back, remove_take),
      cmocka_unit_test_teardown(descriptors_are_not_inherited_nor_left, remove_take),
      cmocka_unit_test_teardown(removed_meanwhile, remove_take),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
