// SPDX-License-Identifier: GPL-3.0-or-later

// What is written about a take and about a setup is read back as it was, and nothing broken is
// taken for it.

#include "run_program.h"

#include <steadyreed/setup.h>
#include <steadyreed/take_note.h>

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
  SrTakeNote note = {.phrase = "The \"Wet\" Gate\n♯",
                     .target_bpm = 92.5,
                     .click_s = 1.23456789,
                     .click_period_s = 0.648648648,
                     .click_pulses = 1.0};
  sr_losses_add(&note.losses, 4410, 8820);
  sr_losses_add(&note.losses, UINT64_C(158760000), UINT64_C(158760001));
  sr_losses_add(&note.silences, 88200, 176400);
  note.silent_bars = 4;
  char text[SR_TAKE_NOTE_SIZE];
  SrTakeNote read;
  assert_true(sr_take_note_write(&note, text));
  assert_true(sr_take_note_read(text, &read));
  assert_string_equal(read.phrase, note.phrase);
  assert_int_equal(read.silent_bars, 4);
  assert_int_equal(read.silences.count, 1);
  assert_int_equal(read.silences.lost[0].start, 88200);
  assert_int_equal(read.silences.lost[0].end, 176400);
  assert_true(fabs(read.target_bpm - note.target_bpm) < 1e-9);
  assert_true(fabs(read.click_s - note.click_s) < 1e-9);
  assert_true(fabs(read.click_period_s - note.click_period_s) < 1e-9);
  assert_true(fabs(read.click_pulses - note.click_pulses) < 1e-9);
  assert_int_equal(read.losses.count, 2);
  assert_memory_equal(read.losses.lost, note.losses.lost, 2 * sizeof(SrStretch));
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
  SrTakeNote note = {.target_bpm = (double)NAN,
                     .click_s = (double)NAN,
                     .click_period_s = (double)NAN,
                     .click_pulses = (double)NAN};
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
the_longest_note_has_room(void** const state)
{
  (void)state;
  SrTakeNote note = {.target_bpm = 1e300, .click_s = 1e300, .click_period_s = 1e300};
  // Each of these takes six characters
  memset(note.phrase, '\x01', sizeof(note.phrase) - 1);
  for (uint64_t i = 0; i < SR_MOST_LOSSES; ++i) {
    sr_losses_add(&note.losses, UINT64_C(1000000000000) + 3 * i, UINT64_C(1000000000001) + 3 * i);
  }
  char text[SR_TAKE_NOTE_SIZE];
  SrTakeNote read;
  assert_true(sr_take_note_write(&note, text));
  assert_true(sr_take_note_read(text, &read));
  assert_int_equal(read.losses.count, SR_MOST_LOSSES);
}

/// However many stretches were lost, what was heard between them stays heard.
static void
many_losses_hide_nothing(void** const state)
{
  (void)state;
  static const uint64_t counts[] = {60, 300};
  for (size_t c = 0; c < 2; ++c) {
    SrLosses losses = {.count = 0};
    uint64_t truly = 0;
    for (uint64_t i = 0; i < counts[c]; ++i) {
      const uint64_t start = i * 60 * 48000;
      const uint64_t length = 480 + i;
      sr_losses_add(&losses, start, start + length);
      truly += length;
    }
    uint64_t reported = 0;
    for (size_t i = 0; i < losses.count; ++i) {
      reported += losses.lost[i].end - losses.lost[i].start;
    }
    assert_true(reported <= truly);
    assert_true(losses.count == (counts[c] < SR_MOST_LOSSES ? counts[c] : SR_MOST_LOSSES));
    assert_true(losses.lost[losses.count - 1].start == (counts[c] - 1) * 60 * 48000);
  }
}

static void
what_is_lost_is_found_again(void** const state)
{
  (void)state;
  float samples[100];
  for (size_t i = 0; i < 100; ++i) {
    samples[i] = (i >= 10 && i < 20) || i >= 95 ? NAN : 0.5f;
  }
  SrLosses losses = {.count = 0};
  sr_losses_find(&losses, 1000, samples, 100);
  // Goes on in what comes next
  for (size_t i = 0; i < 100; ++i) {
    samples[i] = i < 5 ? NAN : 0.5f;
  }
  sr_losses_find(&losses, 1100, samples, 100);
  assert_int_equal(losses.count, 2);
  assert_true(losses.lost[0].start == 1010 && losses.lost[0].end == 1020);
  assert_true(losses.lost[1].start == 1095 && losses.lost[1].end == 1105);
  // Its first half cut away, then all between
  const SrStretch parts[] = {{1015, 1030}, {1090, 2000}};
  const SrLosses cut = sr_losses_cut(&losses, parts, 2);
  assert_int_equal(cut.count, 2);
  assert_true(cut.lost[0].start == 0 && cut.lost[0].end == 5);
  assert_true(cut.lost[1].start == 20 && cut.lost[1].end == 30);
  for (size_t i = 0; i < 100; ++i) {
    samples[i] = 0.5f;
  }
  sr_losses_apply(&losses, 1018, samples, 100);
  for (size_t i = 0; i < 100; ++i) {
    assert_int_equal(isnan(samples[i]) != 0, i < 2 || (i >= 77 && i < 87));
  }
}

static void
of_too_many_losses_the_nearest_are_one(void** const state)
{
  (void)state;
  SrLosses losses = {.count = 0};
  for (uint64_t i = 0; i < SR_MOST_LOSSES; ++i) {
    sr_losses_add(&losses, 100 * i, 100 * i + 10);
  }
  sr_losses_add(&losses, 100 * (SR_MOST_LOSSES - 1) + 15, 100 * (SR_MOST_LOSSES - 1) + 20);
  sr_losses_add(&losses, 10000, 10001);
  assert_int_equal(losses.count, SR_MOST_LOSSES);
  for (size_t i = 0; i + 1 < losses.count; ++i) {
    assert_true(losses.lost[i].end > losses.lost[i].start);
    assert_true(losses.lost[i].end < losses.lost[i + 1].start);
  }
  const SrStretch* const last = &losses.lost[losses.count - 2];
  assert_true(last->start == 100 * (SR_MOST_LOSSES - 1) && last->end == last->start + 20);
}

static void
a_setup_is_read_as_written(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  setenv("XDG_CONFIG_HOME", folder, 1);
  SrSetup setup;
  assert_int_equal(sr_setup_read(&setup, NULL), SR_OK);
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

  assert_int_equal(sr_setup_read(&setup, NULL), SR_OK);
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
  // With other buffers the way was another
  FILE* file = fopen(path, "w");
  fputs("{\"format\": \"steadyreed-setup\", \"version\": 1, \"output_latency_s\": 0.03, "
        "\"round_trip_s\": 0.02, "
        "\"floor_dbfs\": -61.0}",
        file);
  fclose(file);
  assert_int_equal(sr_setup_read(&setup, NULL), SR_OK);
  assert_true(isnan(setup.round_trip_s));
  assert_true(fabs(setup.floor_dbfs + 61.0) < 1e-9);
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
      cmocka_unit_test(the_longest_note_has_room),
      cmocka_unit_test(many_losses_hide_nothing),
      cmocka_unit_test(what_is_lost_is_found_again),
      cmocka_unit_test(of_too_many_losses_the_nearest_are_one),
      cmocka_unit_test(a_setup_is_read_as_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
