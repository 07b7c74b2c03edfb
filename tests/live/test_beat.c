// SPDX-License-Identifier: GPL-3.0-or-later

// How far ahead of or behind the click somebody plays, on events whose place about a click grid is
// known exactly.

#include "played.h"

#include "random.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

/// At 80 pulses a minute, three quavers each.
#define SPW 2.0
#define PULSE_S 0.75
#define QUAVER_S 0.25
/// The round's first bar line, s, and how exactly its place is reported, ms.
#define ZERO_S 10.0
#define EXACT_MS 0.5

static const char jig[] = "X:1\nT:Before the Session\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n";
/// Without repeated notes, so that any onsets are what they are.
static const char row[] = "X:1\nT:In a Row\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "DEF GAB|cBA GFE|FGA Bcd|edc BAG|FED EFG|AGF EFG|AFD GEC|D6|]\n";
static const char pickup[] = "X:1\nT:From the Door\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                             "DE|FGA Bcd|edc BAG|FED EFG|AGF D|]\n";

static SrPhrase* phrase;
static Played played;
static SrJudgeSettings settings;

static int
begin(void** const state)
{
  (void)state;
  phrase = played_phrase(jig);
  memset(&played, 0, sizeof(played));
  settings = sr_judge_settings_default();
  settings.target_bpm = 80.0;
  settings.click_s = ZERO_S;
  settings.click_period_s = PULSE_S;
  settings.click_pulses = 1.0;
  return 0;
}

static int
end(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  return 0;
}

static void
change_phrase(const char* const abc)
{
  sr_phrase_del(phrase);
  phrase = played_phrase(abc);
}

/// False if what was played is no round at all.
static bool
judge(double* const offset_ms)
{
  const SrTakeFacts facts = {.path = "test", .seconds = 100.0, .rate_hz = 44100.0};
  const SrHeard heard = {.events = played.events, .event_count = played.count};
  SrAssessment* assessment = NULL;
  const SrStatus status = sr_judge_take(phrase, &heard, &facts, &settings, &assessment, NULL);
  if (status == SR_NO_MATCH) {
    return false;
  }
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->round_count, 1);
  *offset_ms = assessment->rounds[0].pulse.mean_offset_ms;
  sr_assessment_del(assessment);
  return true;
}

static double
mean_offset_ms(void)
{
  double offset_ms = 0.0;
  assert_true(judge(&offset_ms));
  return offset_ms;
}

static void
assert_offset(const double wanted_ms)
{
  const double offset_ms = mean_offset_ms();
  if (!(fabs(offset_ms - wanted_ms) < EXACT_MS)) {
    fail_msg("%.3f ms, wanted %.3f", offset_ms, wanted_ms);
  }
}

static void
move(const size_t from, const double by_s)
{
  for (size_t i = from; i < played.count; ++i) {
    played.events[i].onset_s += by_s;
    played.events[i].end_s += by_s;
  }
}

static void
by_known_times(void** const state)
{
  (void)state;
  static const double late_ms[] = {-180.0, -60.0, -25.0, -8.0, 0.0, 5.0, 40.0, 90.0, 180.0};
  for (size_t i = 0; i < sizeof(late_ms) / sizeof(late_ms[0]); ++i) {
    played.count = 0;
    played_round(&played, phrase, ZERO_S + 1e-3 * late_ms[i], SPW);
    assert_offset(late_ms[i]);
    // Any click of the grid will do
    settings.click_s = ZERO_S - 7.0 * PULSE_S;
    assert_offset(late_ms[i]);
    settings.click_s = ZERO_S + 31.0 * PULSE_S;
    assert_offset(late_ms[i]);
    settings.click_s = ZERO_S;
  }
}

static void
with_a_pickup(void** const state)
{
  (void)state;
  change_phrase(pickup);
  // Its first note is two quavers before the first bar line, where the click is
  const double first_s = ZERO_S - 2.0 * QUAVER_S;
  assert_true(fabs(sr_fraction_value(sr_phrase_note(phrase, 0)->start)) < 1e-9);
  played_round(&played, phrase, first_s + 0.030, SPW);
  assert_offset(30.0);
}

static void
click_on_bars(void** const state)
{
  (void)state;
  settings.click_period_s = 2.0 * PULSE_S;
  settings.click_pulses = 2.0;
  played_round(&played, phrase, ZERO_S - 0.045, SPW);
  assert_offset(-45.0);
  // The same begun on the second pulse is half a bar off, whatever the bars before
  played.count = 0;
  change_phrase(pickup);
  played_round(&played, phrase, ZERO_S + 6.0 * PULSE_S - 2.0 * QUAVER_S + 0.12, SPW);
  assert_offset(120.0);
}

/// Lilt is style: who is on the click on each pulse is on the click.
static void
lilting(void** const state)
{
  (void)state;
  change_phrase(row);
  played_round(&played, phrase, ZERO_S + 0.015, SPW);
  for (size_t i = 0; i < played.count; ++i) {
    played.events[i].onset_s += i % 3 == 1 ? 0.06 : i % 3 == 2 ? 0.03 : 0.0;
    if (i > 0) {
      played.events[i - 1].end_s = played.events[i].onset_s;
    }
  }
  assert_offset(15.0);
}

/// Who waited for a whole number of clicks and went on is compared with where he went on.
static void
lost_and_found(void** const state)
{
  (void)state;
  change_phrase(row);
  for (unsigned clicks = 1; clicks <= 3; ++clicks) {
    played.count = 0;
    played_round(&played, phrase, ZERO_S + 0.020, SPW);
    move(20, clicks * PULSE_S);
    assert_offset(20.0);
  }
}

/// Two thirds of the notes on the click, the rest behind it after a wait: in between, by
/// directions.
static void
lost_for_good(void** const state)
{
  (void)state;
  change_phrase(row);
  played_round(&played, phrase, ZERO_S, SPW);
  const size_t from = 30;
  const double late_s = 0.2;
  move(from, late_s);
  const double before = (double)from;
  const double behind = (double)(played.count - from);
  const double angle = 2.0 * M_PI * late_s / PULSE_S;
  const double mean = atan2(behind * sin(angle), before + behind * cos(angle));
  assert_offset(1e3 * mean / (2.0 * M_PI) * PULSE_S);
}

static void
at_random(void** const state)
{
  (void)state;
  change_phrase(row);
  size_t judged = 0;
  for (uint64_t seed = 1; seed <= 50; ++seed) {
    Random random = {seed};
    played.count = 0;
    double now_s = ZERO_S;
    for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
      const double next_s = now_s + random_between(&random, 0.17, 0.45);
      played_add(&played, sr_phrase_note(phrase, i)->midi, now_s, next_s, (double)NAN);
      now_s = next_s;
    }
    double offset_ms = 0.0;
    if (judge(&offset_ms)) {
      ++judged;
      assert_true(isnan(offset_ms));
    }
  }
  // The others are so far out of time that they are not taken for the phrase
  assert_true(judged >= 20);
}

/// A steady tempo that is not the click's stands in no relation to it.
static void
other_tempo(void** const state)
{
  (void)state;
  change_phrase(row);
  played_round(&played, phrase, ZERO_S, 1.17 * SPW);
  assert_true(isnan(mean_offset_ms()));
}

static void
without_a_click(void** const state)
{
  (void)state;
  played_round(&played, phrase, ZERO_S + 0.03, SPW);
  const SrJudgeSettings whole = settings;
  settings.click_s = (double)NAN;
  assert_true(isnan(mean_offset_ms()));
  settings = whole;
  settings.click_period_s = (double)NAN;
  assert_true(isnan(mean_offset_ms()));
  settings = whole;
  settings.click_pulses = 0.0;
  assert_true(isnan(mean_offset_ms()));
  settings = sr_judge_settings_default();
  assert_true(isnan(mean_offset_ms()));
  settings.target_bpm = 80.0;
  assert_true(isnan(mean_offset_ms()));
}

#define BEAT_TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int
main(void)
{
  const struct CMUnitTest tests[] = {
      BEAT_TEST(by_known_times), BEAT_TEST(with_a_pickup),  BEAT_TEST(click_on_bars),
      BEAT_TEST(lilting),        BEAT_TEST(lost_and_found), BEAT_TEST(lost_for_good),
      BEAT_TEST(at_random),      BEAT_TEST(other_tempo),    BEAT_TEST(without_a_click)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
