// SPDX-License-Identifier: GPL-3.0-or-later

// What stays of a take is as it was but for the joints.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "kept.h"
#include "run_program.h"

#include <steadyreed/recording.h>

#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define RATE_HZ 48000
#define FADE 240 // 5 ms
#define COUNT 100000

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

/// A take of `COUNT` samples: the noise, or one value throughout.
static void
write_take(const char* const note, const float* const value)
{
  SrRecording* recording = NULL;
  assert_int_equal(sr_recording_new(path, (double)RATE_HZ, note, &recording, NULL), SR_OK);
  static float samples[COUNT];
  for (size_t i = 0; i < COUNT; ++i) {
    samples[i] = value ? *value : noise_float(i);
  }
  assert_int_equal(sr_recording_write(recording, samples, COUNT, NULL), SR_OK);
  assert_int_equal(sr_recording_finish(recording, NULL), SR_OK);
}

static void
parts_and_fades(void** const state)
{
  (void)state;
  static const struct {
    SrStretch parts[4];
    size_t count;
  } cases[] = {
      {{{0, COUNT}}, 1},                    // all
      {{{0, UINT64_MAX}}, 1},               // all, and more
      {{{0, 50000}, {50000, COUNT}}, 2},    // all, in two that touch
      {{{1, COUNT}}, 1},                    // the start cut
      {{{0, COUNT - 1}}, 1},                // the end cut
      {{{1000, 30000}, {40000, 70001}}, 2}, // both, and a joint
      {{{0, 30000}, {40000, COUNT}}, 2},    // a joint only
      {{{4096, 8192}, {12288, 12289}, {12290, 12900}, {99999, 200000}}, 4}, // short ones
      {{{10, 20}, {20, 5000}, {90000, 90100}, {200000, 300000}}, 4}, // touching; beyond the end
  };
  for (size_t c = 0; c < sizeof(cases) / sizeof(cases[0]); ++c) {
    write_take("what it was for", NULL);
    assert_int_equal(sr_recording_cut(path, cases[c].parts, cases[c].count, NULL, NULL), SR_OK);
    Kept kept = kept_read(path);
    assert_int_equal(kept.rate_hz, RATE_HZ);
    size_t at = 0;
    size_t same = 0;
    for (size_t p = 0; p < cases[c].count; ++p) {
      const SrStretch part = cases[c].parts[p];
      for (uint64_t i = part.start; i < part.end && i < COUNT; ++i, ++at) {
        assert_true(at < kept.count);
        // Frames to the nearest place where something was cut away.
        uint64_t far = UINT64_MAX;
        for (uint64_t d = 0; d < FADE && far == UINT64_MAX; ++d) {
          bool cut_before = i >= d + 1;
          bool cut_after = i + d + 1 < COUNT;
          for (size_t q = 0; q < cases[c].count; ++q) {
            const SrStretch other = cases[c].parts[q];
            cut_before = cut_before && !(i - d - 1 >= other.start && i - d - 1 < other.end);
            cut_after = cut_after && !(i + d + 1 >= other.start && i + d + 1 < other.end);
          }
          far = cut_before || cut_after ? d : far;
        }
        const int32_t given = noise_at(i);
        if (far >= FADE) {
          ++same;
          if (kept.samples[at] != given) {
            fail_msg("case %zu: sample %llu is %d, not %d", c, (unsigned long long)i,
                     kept.samples[at], given);
          }
        } else {
          assert_true(abs(kept.samples[at]) <= abs(given));
          assert_true((int64_t)kept.samples[at] * given >= 0);
          // The outermost is all but gone.
          assert_true(far > 0 || abs(kept.samples[at]) < 1000);
        }
      }
    }
    assert_int_equal(at, kept.count);
    assert_int_equal(kept.promised, kept.count);
    assert_true(same > 0);
    kept_clear(&kept);
    assert_true(flac_finds_no_fault(path));
    assert_int_equal(mode_of(path), 0600);
    assert_int_equal(count_files(folder), 1);
    char note[SR_TAKE_NOTE_SIZE];
    assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
    assert_string_equal(note, "what it was for");
    unlink(path);
  }
}

/// A steady value shows the course of the fades: no step is larger than a half cosine of 5 ms
/// makes.
static void
no_joint_clicks(void** const state)
{
  (void)state;
  const float value = 0.5f;
  write_take(NULL, &value);
  static const SrStretch parts[] = {{100, 20000}, {30000, 40000}, {40001, 40100}, {60000, 99000}};
  assert_int_equal(sr_recording_cut(path, parts, 4, NULL, NULL), SR_OK);
  Kept kept = kept_read(path);
  // The steepest step of sin²(πx/2) over FADE frames is π/2 / FADE.
  const double most = 0.5 * 8388608.0 * 1.5708 / (double)FADE + 1.0;
  int32_t last = 0;
  for (size_t i = 0; i < kept.count; ++i) {
    assert_true(fabs((double)kept.samples[i] - (double)last) <= most);
    last = kept.samples[i];
  }
  assert_true(fabs((double)last) <= most);
  kept_clear(&kept);
}

static void
note_is_kept_or_new(void** const state)
{
  (void)state;
  write_take("first", NULL);
  const SrStretch part = {0, 90000};
  char note[SR_TAKE_NOTE_SIZE];
  static char longest[SR_TAKE_NOTE_SIZE];
  // Two bytes a letter, and one more: the longest there can be.
  for (size_t i = 0; i + 2 < SR_TAKE_NOTE_SIZE; i += 2) {
    longest[i] = (char)0xC3;
    longest[i + 1] = (char)0xA9;
  }
  longest[SR_TAKE_NOTE_SIZE - 2] = '!';
  assert_int_equal(strlen(longest), SR_TAKE_NOTE_SIZE - 1);
  const char* const notes[] = {longest, NULL, "{\"bars\": \"1-4\",\n\t\"a=b\": 2}", NULL, "", NULL};
  const char* wanted = "first";
  for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); ++i) {
    assert_int_equal(sr_recording_cut(path, &part, 1, notes[i], NULL), SR_OK);
    wanted = notes[i] ? notes[i] : wanted;
    assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
    assert_string_equal(note, wanted);
  }
  static char too_long[SR_TAKE_NOTE_SIZE + 1];
  memset(too_long, 'x', SR_TAKE_NOTE_SIZE);
  assert_int_equal(sr_recording_cut(path, &part, 1, too_long, NULL), SR_BAD_ARGUMENT);
  assert_int_equal(sr_recording_cut(path, &part, 1, "\xFF", NULL), SR_BAD_ARGUMENT);
}

/// All bytes of a file; free() them.
static char*
bytes_of(const char* const name, size_t* const size)
{
  FILE* const file = fopen(name, "rb");
  assert_non_null(file);
  struct stat status;
  assert_int_equal(fstat(fileno(file), &status), 0);
  *size = (size_t)status.st_size;
  char* const bytes = malloc(*size + 1);
  assert_non_null(bytes);
  assert_int_equal(fread(bytes, 1, *size, file), *size);
  fclose(file);
  return bytes;
}

static void
put_bytes(const char* const name, const char* const bytes, const size_t size)
{
  FILE* const file = fopen(name, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(bytes, 1, size, file), size);
  fclose(file);
}

/// A cut that is refused leaves the old file to the last byte, and nothing beside it.
static void
assert_refused(const SrStretch* const parts, const size_t count, const SrStatus wanted)
{
  size_t before_size = 0;
  size_t after_size = 0;
  char* const before = bytes_of(path, &before_size);
  SrError error = {0};
  assert_int_equal(sr_recording_cut(path, parts, count, NULL, &error), wanted);
  assert_int_equal(error.status, wanted);
  assert_string_equal(error.file, path);
  assert_true(strlen(error.message) > 10);
  char* const after = bytes_of(path, &after_size);
  assert_int_equal(before_size, after_size);
  assert_memory_equal(before, after, before_size);
  free(before);
  free(after);
  assert_int_equal(count_files(folder), 1);
}

static void
bad_parts_are_refused(void** const state)
{
  (void)state;
  static const SrStretch empty[] = {{10, 10}};
  static const SrStretch backward[] = {{20, 10}};
  static const SrStretch overlapping[] = {{0, 100}, {99, 200}};
  static const SrStretch disordered[] = {{500, 600}, {0, 100}};
  static const SrStretch beyond[] = {{COUNT, COUNT + 1000}};
  static const SrStretch good[] = {{0, 10}};
  write_take("old", NULL);
  assert_refused(good, 0, SR_BAD_ARGUMENT);
  assert_refused(empty, 1, SR_BAD_ARGUMENT);
  assert_refused(backward, 1, SR_BAD_ARGUMENT);
  assert_refused(overlapping, 2, SR_BAD_ARGUMENT);
  assert_refused(disordered, 2, SR_BAD_ARGUMENT);
  assert_refused(beyond, 1, SR_BAD_ARGUMENT);
}

static void
damage_is_not_made_worse(void** const state)
{
  (void)state;
  const SrStretch part = {0, 50000};
  write_take("old", NULL);
  size_t size = 0;
  char* const bytes = bytes_of(path, &size);
  char* const broken = malloc(size);
  assert_non_null(broken);
  // With its length known, and without: 36 bits at 21 in STREAMINFO (RFC 9639, 8.2).
  for (int known = 0; known < 2; ++known) {
    memcpy(broken, bytes, size);
    if (!known) {
      broken[21] = (char)(broken[21] & 0xF0);
      memset(broken + 22, 0, 4);
    }
    for (size_t i = size / 3; i < size / 3 + 50; ++i) {
      broken[i] = (char)~broken[i];
    }
    put_bytes(path, broken, size);
    assert_refused(&part, 1, SR_BAD_AUDIO);
  }
  put_bytes(path, bytes, size / 2);
  assert_refused(&part, 1, SR_BAD_AUDIO);
  put_bytes(path, bytes, 60);
  assert_refused(&part, 1, SR_BAD_AUDIO);
  put_bytes(path, "", 0);
  assert_refused(&part, 1, SR_BAD_AUDIO);
  put_bytes(path, "no sound at all, only text\n", 27);
  assert_refused(&part, 1, SR_BAD_AUDIO);
  unlink(path);
  SrError error;
  assert_int_equal(sr_recording_cut(path, &part, 1, NULL, &error), SR_NOT_FOUND);
  assert_int_equal(mkdir(path, 0700), 0);
  assert_int_equal(sr_recording_cut(path, &part, 1, NULL, &error), SR_BAD_AUDIO);
  rmdir(path);
  assert_int_equal(mkfifo(path, 0600), 0);
  assert_int_equal(sr_recording_cut(path, &part, 1, NULL, &error), SR_BAD_AUDIO);
  unlink(path);
  // A link would be replaced, not the take.
  char* const target = folder_path(folder, "target.flac");
  put_bytes(target, bytes, size);
  assert_int_equal(symlink(target, path), 0);
  assert_int_equal(sr_recording_cut(path, &part, 1, "n", &error), SR_BAD_AUDIO);
  unlink(target);
  free(target);
  free(bytes);
  free(broken);
}

/// Whether libsndfile meets trouble in a file and goes on reading behind it.
static bool
reads_on_after_trouble(void)
{
  SF_INFO info = {0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  assert_non_null(file);
  int samples[1024];
  bool trouble = false;
  bool reads_on = false;
  while (sf_readf_int(file, samples, 1024) == 1024) {
    reads_on = reads_on || trouble;
    trouble = trouble || sf_error(file) != SF_ERR_NO_ERROR;
  }
  sf_close(file);
  return reads_on;
}

/// Bytes that are missing in an unfinished take make the decoder skip a frame or two and go on.
static void
missing_bytes_are_damage(void** const state)
{
  (void)state;
  static float samples[COUNT];
  for (size_t i = 0; i < COUNT; ++i) {
    const int32_t small = noise_at(i) / 65536;
    samples[i] = (float)small / 8388608.0f;
  }
  SrRecording* recording = NULL;
  assert_int_equal(sr_recording_new(path, (double)RATE_HZ, "old", &recording, NULL), SR_OK);
  assert_int_equal(sr_recording_write(recording, samples, COUNT, NULL), SR_OK);
  // While it is recorded, it is as a kill would leave it.
  size_t size = 0;
  char* const bytes = bytes_of(path, &size);
  sr_recording_discard(recording);
  const SrStretch part = {0, UINT64_MAX};
  char* const broken = malloc(size);
  assert_non_null(broken);
  size_t found = 0;
  for (size_t at = 1000; at + 20000 < size && found < 3; at += 337) {
    memcpy(broken, bytes, at);
    memcpy(broken + at, bytes + at + 2048, size - at - 2048);
    put_bytes(path, broken, size - 2048);
    if (reads_on_after_trouble()) {
      ++found;
      assert_refused(&part, 1, SR_BAD_AUDIO);
    }
  }
  assert_true(found > 0);
  free(bytes);
  free(broken);
}

static void
killed_while_it_is_cut(void** const state)
{
  (void)state;
  const SrStretch part = {1000, 90000};
  size_t old_ones = 0;
  for (unsigned k = 0; k < 20; ++k) {
    write_take("old", NULL);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
      _exit((int)sr_recording_cut(path, &part, 1, "new", NULL));
    }
    const uint32_t random = (uint32_t)(noise_at(k + 7000u) + 8388608);
    const struct timespec wait = {0, (long)((random % 1000u) * 6000u)};
    nanosleep(&wait, NULL);
    kill(child, SIGKILL);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    char note[SR_TAKE_NOTE_SIZE];
    assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
    Kept kept = kept_read(path);
    if (!strcmp(note, "old")) {
      assert_int_equal(kept.count, COUNT);
      ++old_ones;
    } else {
      assert_string_equal(note, "new");
      assert_int_equal(kept.count, 89000);
    }
    kept_clear(&kept);
    assert_true(flac_finds_no_fault(path));
    assert_true(count_files(folder) <= 2);
    folder_remove(folder);
    assert_int_equal(mkdir(folder, 0700), 0);
  }
  print_message("20 kills: %zu left the old take, the others the new\n", old_ones);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_teardown(parts_and_fades, remove_take),
      cmocka_unit_test_teardown(no_joint_clicks, remove_take),
      cmocka_unit_test_teardown(note_is_kept_or_new, remove_take),
      cmocka_unit_test_teardown(bad_parts_are_refused, remove_take),
      cmocka_unit_test_teardown(damage_is_not_made_worse, remove_take),
      cmocka_unit_test_teardown(missing_bytes_are_damage, remove_take),
      cmocka_unit_test_teardown(killed_while_it_is_cut, remove_take),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
