// SPDX-License-Identifier: GPL-3.0-or-later

// What is written about a take and about a setup is read back as it was, and nothing broken is
// taken for it.

#include "run_program.h"

#include "app/setup_store.h"
#include "app/take_note.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>

static void
a_note_is_read_as_written(void** const state)
{
  (void)state;
  const SrTakeNote note = {"The \"Wet\" Gate\n♯", 92.5, 1.23456789, 0.648648648, 1.0};
  char text[SR_TAKE_NOTE_SIZE];
  SrTakeNote read;
  assert_true(sr_take_note_write(&note, text));
  assert_true(sr_take_note_read(text, &read));
  assert_string_equal(read.phrase, note.phrase);
  assert_true(fabs(read.target_bpm - note.target_bpm) < 1e-9);
  assert_true(fabs(read.click_s - note.click_s) < 1e-9);
  assert_true(fabs(read.click_period_s - note.click_period_s) < 1e-9);
  assert_true(fabs(read.click_pulses - note.click_pulses) < 1e-9);
  // Cut anywhere, it is none
  const size_t length = strlen(text);
  for (size_t i = 0; i < length; ++i) {
    char part[SR_TAKE_NOTE_SIZE];
    memcpy(part, text, i);
    part[i] = '\0';
    assert_false(sr_take_note_read(part, &read));
    assert_true(isnan(read.click_s));
  }
}

static void
a_note_without_a_click_tells_none(void** const state)
{
  (void)state;
  SrTakeNote note = {"", (double)NAN, (double)NAN, (double)NAN, (double)NAN};
  memset(note.phrase, 'x', sizeof(note.phrase) - 1);
  char text[SR_TAKE_NOTE_SIZE];
  SrTakeNote read;
  assert_true(sr_take_note_write(&note, text));
  assert_non_null(strstr(text, "null"));
  assert_true(sr_take_note_read(text, &read));
  assert_true(isnan(read.target_bpm) && isnan(read.click_s) && isnan(read.click_period_s));
  assert_false(sr_take_note_read("{\"format\":\"other\"}", &read));
  assert_false(sr_take_note_read("recorded in the kitchen", &read));
}

static void
a_setup_is_read_as_written(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  setenv("XDG_CONFIG_HOME", folder, 1);
  SrSetup setup;
  sr_setup_read(&setup);
  assert_null(setup.profile);
  assert_true(isnan(setup.round_trip_s));
  assert_true(isnan(setup.bellows_at_a4) && isnan(setup.bellows_power));
  setup.bellows_at_a4 = 7.25;
  setup.bellows_power = 0.4;
  snprintf(setup.input, sizeof(setup.input), "Desk microphone");
  snprintf(setup.output, sizeof(setup.output), "Headphones");
  setup.round_trip_s = 0.0213;
  setup.round_trip_spread_s = 0.0004;
  setup.floor_dbfs = -61.0;
  setup.profile = sr_profile_new(446.5);
  assert_int_equal(sr_setup_write(&setup, NULL), SR_OK);
  sr_setup_clear(&setup);

  sr_setup_read(&setup);
  assert_non_null(setup.profile);
  assert_true(fabs(setup.bellows_at_a4 - 7.25) < 1e-9);
  assert_true(isnan(setup.bellows_uncertainty));
  assert_true(fabs(sr_profile_reference_hz(setup.profile) - 446.5) < 0.01);
  assert_true(fabs(sr_setup_round_trip_s(&setup, "Desk microphone", "Headphones") - 0.0213) < 1e-9);
  assert_true(isnan(sr_setup_round_trip_s(&setup, "Desk microphone", "Loudspeaker")));
  assert_true(isnan(sr_setup_round_trip_s(&setup, "Desk microphone", "")));
  sr_setup_clear(&setup);

  char* path = NULL;
  assert_true(asprintf(&path, "%s/steadyreed/setup.json", folder) > 0);
  struct stat status;
  assert_int_equal(stat(path, &status), 0);
  assert_int_equal(status.st_mode & 0777u, 0600);
  // Whatever else stands there counts as nothing
  FILE* const file = fopen(path, "w");
  fputs("{\"format\": \"steadyreed-setup\", \"input\": 4, \"round_trip_s\": \"long\", \"profile\": "
        "[]}",
        file);
  fclose(file);
  sr_setup_read(&setup);
  assert_null(setup.profile);
  assert_true(isnan(setup.round_trip_s));
  sr_setup_clear(&setup);
  remove(path);
  free(path);
  assert_true(asprintf(&path, "%s/steadyreed", folder) > 0);
  remove(path);
  free(path);
  folder_remove(folder);
  free(folder);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_note_is_read_as_written),
      cmocka_unit_test(a_note_without_a_click_tells_none),
      cmocka_unit_test(a_setup_is_read_as_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
