// SPDX-License-Identifier: GPL-3.0-or-later

// Notes, and files that are none or no more.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "kept.h"
#include "run_program.h"

#include <steadyreed/recording.h>

#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
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
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(folder);
  free(path);
  return 0;
}

static void
write_take(const char* const note)
{
  unlink(path);
  SrRecording* recording = NULL;
  assert_int_equal(sr_recording_new(path, 16000.0, note, &recording, NULL), SR_OK);
  static float samples[6000];
  for (size_t i = 0; i < 6000; ++i) {
    samples[i] = noise_float(i) * 0.001f;
  }
  assert_int_equal(sr_recording_write(recording, samples, 6000, NULL), SR_OK);
  assert_int_equal(sr_recording_finish(recording, NULL), SR_OK);
}

static void
notes_come_back(void** const state)
{
  (void)state;
  static char longest[SR_TAKE_NOTE_SIZE];
  memset(longest, 'm', SR_TAKE_NOTE_SIZE - 1);
  const char* const notes[] = {
      "", "x", "comment=comment=", "=", " spaces \n and\ttabs\r\n", "naïve — ♯ 𝄞", longest};
  char note[SR_TAKE_NOTE_SIZE];
  for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); ++i) {
    write_take(notes[i]);
    memset(note, 'z', sizeof(note));
    assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
    assert_string_equal(note, notes[i]);
    // Another program's view of it.
    const char* const arguments[] = {"metaflac", "--no-utf8-convert", "--show-tag=COMMENT", path,
                                     NULL};
    ProgramRun run = run_program(arguments);
    if (run.status == 0 && *notes[i]) {
      const char* const value = run.output + strlen("comment=");
      const size_t length = strlen(notes[i]);
      assert_true(strlen(value) > length);
      assert_memory_equal(value, notes[i], length);
      // Room for another
      assert_int_equal(strspn(value + length, " "), strlen(value) - length - 1);
    } else if (run.status == 0) {
      assert_string_equal(run.output, "");
    }
    run_clear(&run);
  }
  write_take(NULL);
  assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
  assert_string_equal(note, "");
}

/// Another note takes the place of the first one, also a shorter one, and while it is recorded.
static void
another_note(void** const state)
{
  (void)state;
  static char longest[SR_TAKE_NOTE_SIZE];
  memset(longest, 'm', 3584);
  const char* const notes[] = {"first", longest, "second — ♯", "x"};
  SrRecording* recording = NULL;
  float samples[5000] = {0};
  char note[SR_TAKE_NOTE_SIZE];
  unlink(path);
  assert_int_equal(sr_recording_new(path, 16000.0, notes[0], &recording, NULL), SR_OK);
  for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); ++i) {
    assert_true(sr_recording_set_note(recording, notes[i]));
    assert_int_equal(sr_recording_write(recording, samples, 5000, NULL), SR_OK);
    assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
    assert_string_equal(note, notes[i]);
  }
  // There is no room for more
  longest[3584] = 'm';
  assert_false(sr_recording_set_note(recording, longest));
  assert_int_equal(sr_recording_finish(recording, NULL), SR_OK);
  assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
  assert_string_equal(note, "x");
  const char* const arguments[] = {"flac", "--test", "--silent", path, NULL};
  ProgramRun run = run_program(arguments);
  assert_true(run.status == 0 || run.status == 127);
  run_clear(&run);
  unlink(path);
  // Without one there is no room
  assert_int_equal(sr_recording_new(path, 16000.0, NULL, &recording, NULL), SR_OK);
  assert_false(sr_recording_set_note(recording, "x"));
  sr_recording_discard(recording);
}

/// A note of others may be longer; it is cut on a whole letter.
static void
a_longer_one_is_cut(void** const state)
{
  (void)state;
  static char text[10001];
  for (size_t shift = 0; shift < 3; ++shift) {
    memset(text, 'a', shift);
    for (size_t i = shift; i + 3 < sizeof(text); i += 3) {
      memcpy(text + i, "♯", 3);
      text[i + 3] = '\0';
    }
    SF_INFO info = {
        .samplerate = 16000, .channels = 1, .format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
    SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    assert_int_equal(sf_set_string(file, SF_STR_COMMENT, text), 0);
    const int samples[10] = {0};
    sf_writef_int(file, samples, 10);
    sf_close(file);
    char note[SR_TAKE_NOTE_SIZE];
    assert_int_equal(sr_recording_note(path, note, NULL), SR_OK);
    const size_t length = strlen(note);
    assert_int_equal((length - shift) % 3, 0);
    assert_in_range(length, SR_TAKE_NOTE_SIZE - 3, SR_TAKE_NOTE_SIZE - 1);
    assert_memory_equal(note, text, length);
  }
}

static void
what_is_no_recording(void** const state)
{
  (void)state;
  char note[SR_TAKE_NOTE_SIZE];
  SrError error;
  unlink(path);
  memset(note, 'z', sizeof(note));
  assert_int_equal(sr_recording_note(path, note, &error), SR_NOT_FOUND);
  assert_string_equal(note, "");
  assert_string_equal(error.file, path);
  assert_int_equal(sr_recording_note(folder, note, &error), SR_BAD_AUDIO);
  assert_int_equal(sr_recording_note("/dev/null", note, &error), SR_BAD_AUDIO);
  FILE* const file = fopen(path, "w");
  fclose(file);
  assert_int_equal(sr_recording_note(path, note, &error), SR_BAD_AUDIO);
}

/// Files broken in any way give a text that ends, or SR_BAD_AUDIO; and leave no descriptor open.
static void
broken_files(void** const state)
{
  (void)state;
  static char longest[SR_TAKE_NOTE_SIZE];
  memset(longest, 'm', 1000);
  write_take(longest);
  FILE* file = fopen(path, "rb");
  static unsigned char whole[65536];
  const size_t size = fread(whole, 1, sizeof(whole), file);
  fclose(file);
  const size_t descriptors = count_files("/proc/self/fd");
  size_t read = 0;
  size_t refused = 0;
  uint64_t random = 0;
  for (size_t round = 0; round < 3000; ++round) {
    static unsigned char broken[65536];
    memcpy(broken, whole, size);
    size_t length = size;
    const size_t faults = 1 + (uint32_t)(noise_at(random++) + 8388608) % 8u;
    for (size_t f = 0; f < faults; ++f) {
      // Three of four in the header, where it hurts.
      const uint32_t any = (uint32_t)(noise_at(random++) + 8388608);
      const size_t place = any % 4 ? (any / 4) % 1200 : (any / 4) % size;
      broken[place] = (unsigned char)noise_at(random++);
    }
    if (round % 5 == 0) {
      length = (uint32_t)(noise_at(random++) + 8388608) % size;
    }
    file = fopen(path, "wb");
    fwrite(broken, 1, length, file);
    fclose(file);
    char note[SR_TAKE_NOTE_SIZE];
    memset(note, 'z', sizeof(note));
    SrError error = {0};
    const SrStatus outcome = sr_recording_note(path, note, &error);
    assert_true(outcome == SR_OK || outcome == SR_BAD_AUDIO);
    assert_non_null(memchr(note, '\0', sizeof(note)));
    assert_true(outcome == SR_OK || note[0] == '\0');
    read += outcome == SR_OK;
    refused += outcome != SR_OK;
  }
  assert_int_equal(count_files("/proc/self/fd"), descriptors);
  // Else they were not broken, or not files.
  assert_true(read > 100 && refused > 100);
  print_message("%zu broken files read, %zu refused\n", read, refused);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(notes_come_back),     cmocka_unit_test(another_note),
      cmocka_unit_test(a_longer_one_is_cut), cmocka_unit_test(what_is_no_recording),
      cmocka_unit_test(broken_files),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
