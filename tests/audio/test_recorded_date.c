// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_recorded_date.c
   When a recording was made: dates as texts (ISO 8601), and files with such dates in them: a
   Broadcast Wave file (EBU Tech 3285), FLAC with a tag, and m4a of `ffmpeg`.

   usage: test_recorded_date [FFMPEG]
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <audio/recorded_date.h>

#include "run_program.h"

#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static const char* ffmpeg = "";

/// Noon of 1 March 2026, UTC: 20513 days of 86400 s after 1970, and half a day (`date -u -d
/// 2026-03-01T12:00 +%s` says so, too).
#define NOON INT64_C(1772366400)

static void
texts_are_read(void** const state)
{
  (void)state;
  static const struct {
    const char* text;
    bool known;
    bool has_time;
    int64_t utc_s;
  } cases[] = {
      {"2026-03-01T12:00:00.000000Z", true, true, NOON},
      {"2026-03-01T12:00:00Z", true, true, NOON},
      {"2026-03-01T13:00:00+0100", true, true, NOON},
      {"2026-03-01T10:30:00-01:30", true, true, NOON},
      // The zone of this test is two hours east
      {"2026-03-01T14:00:00", true, true, NOON},
      {"2026-03-01 14:00", true, true, NOON},
      {"2026-03-01 14-00-30", true, true, NOON + 30},
      {"2026:03:01 14:00:05", true, true, NOON + 5},
      {" 2026-03-01", true, false, NOON - 14 * 3600},
      {"2026-03-01 25:00:00", true, false, NOON - 14 * 3600},
      {"2026", false, false, 0},
      {"2026-03", false, false, 0},
      {"2026-13-01", false, false, 0},
      {"2026-00-01", false, false, 0},
      {"2026-03-32", false, false, 0},
      {"1904-01-01T00:00:00Z", false, false, 0},
      {"1970-01-01T00:00:00Z", false, false, 0},
      {"yesterday", false, false, 0},
      {"", false, false, 0},
      {NULL, false, false, 0},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const SrRecordedDate date = sr_recorded_date_read(cases[i].text);
    assert_int_equal(date.known, cases[i].known);
    assert_int_equal(date.has_time, cases[i].has_time);
    assert_int_equal(date.utc_s, cases[i].utc_s);
  }
}

/// Write a second of a tone, with a date.
static void
write_sound(const char* const path, const int format, const char* const tag,
            const SF_BROADCAST_INFO* const broadcast)
{
  SF_INFO info = {.samplerate = 16000, .channels = 1, .format = format};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  assert_non_null(file);
  if (broadcast) {
    SF_BROADCAST_INFO copy = *broadcast;
    assert_int_equal(sf_command(file, SFC_SET_BROADCAST_INFO, &copy, (int)sizeof(copy)), SF_TRUE);
  }
  if (tag) {
    assert_int_equal(sf_set_string(file, SF_STR_DATE, tag), 0);
  }
  for (int i = 0; i < 16000; ++i) {
    const short sample = (short)(i % 40 < 20 ? 3000 : -3000);
    assert_int_equal(sf_write_short(file, &sample, 1), 1);
  }
  assert_int_equal(sf_close(file), 0);
}

static SrRecordedDate
date_in(const char* const path)
{
  SrTakeReader* reader = NULL;
  SrError error = {0};
  if (sr_take_reader_new(path, &reader, &error) != SR_OK) {
    fail_msg("%s: %s", path, error.message);
  }
  const SrRecordedDate date = sr_take_reader_date(reader);
  sr_take_reader_del(reader);
  return date;
}

static void
files_are_read(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const wave = folder_path(folder, "a.wav");
  char* const flac = folder_path(folder, "a.flac");
  char* const phone = folder_path(folder, "a.m4a");
  SF_BROADCAST_INFO broadcast;
  memset(&broadcast, 0, sizeof(broadcast));
  memcpy(broadcast.origination_date, "2026-03-01", 10);
  memcpy(broadcast.origination_time, "14:00:00", 8);
  write_sound(wave, SF_FORMAT_WAV | SF_FORMAT_PCM_16, NULL, NULL);
  assert_false(date_in(wave).known);
  write_sound(wave, SF_FORMAT_WAV | SF_FORMAT_PCM_16, NULL, &broadcast);
  SrRecordedDate date = date_in(wave);
  assert_true(date.known && date.has_time);
  assert_int_equal(date.utc_s, NOON);
  write_sound(flac, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, "2026-03-01", NULL);
  date = date_in(flac);
  assert_true(date.known && !date.has_time);
  assert_int_equal(date.utc_s, NOON - 14 * 3600);
  if (*ffmpeg) {
    ProgramRun run =
        run_program((const char* const[]){ffmpeg, "-loglevel", "error", "-i", wave, "-metadata",
                                          "creation_time=2026-03-01T12:00:00Z", phone, NULL});
    assert_int_equal(run.status, 0);
    run_clear(&run);
    date = date_in(phone);
    assert_true(date.known && date.has_time);
    assert_int_equal(date.utc_s, NOON);
  }
  free(wave);
  free(flac);
  free(phone);
  folder_remove(folder);
  free(folder);
}

int
main(const int argc, char** const argv)
{
  ffmpeg = argc > 1 ? argv[1] : "";
  // POSIX writes a zone two hours east of Greenwich so
  setenv("TZ", "EAST-2", 1);
  tzset();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(texts_are_read),
      cmocka_unit_test(files_are_read),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
