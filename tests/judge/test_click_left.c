// SPDX-License-Identifier: GPL-3.0-or-later

// A click that the player does not stay with: reported as that, and not as late or early notes; who
// stays with it, or meets it again, is reported of no such thing. One played evenly but off it is
// no clean round. Exact by construction.

#include "played.h"
#include "random.h"

#include <steadyreed/ladder.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/// At 80 pulses a minute.
#define PULSE_S 0.75
#define ZERO_S 2.0

static const char tune[] = "X:1\nT:The Clock on the Stair\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                           "|:A{c}AF DEF|ABc d2A|BGE FDF|EFE A3|A{c}AF DEF|ABc d2A|BGE FDF|EDD "
                           "D3:|\n";

/// Where a note lies that is due at a number of pulses, in pulses of the click.
typedef double (*Course)(double pulses, double size);

static Played played;

static SrAssessment*
judge(const SrPhrase* const phrase, const double period_s)
{
  SrJudgeSettings settings = sr_judge_settings_default();
  settings.click_s = period_s > 0.0 ? ZERO_S : (double)NAN;
  settings.click_period_s = period_s > 0.0 ? period_s : (double)NAN;
  settings.click_pulses = period_s > 0.0 ? 1.0 : 0.0;
  const SrTakeFacts facts = {.path = "test", .seconds = 100.0, .rate_hz = 44100.0};
  const SrHeard heard = {.events = played.events, .event_count = played.count};
  SrAssessment* assessment = NULL;
  assert_int_equal(sr_judge_take(phrase, &heard, &facts, &settings, &assessment, NULL), SR_OK);
  return assessment;
}

/// Play it along a course, with so much scatter.
static void
play(const SrPhrase* const phrase, const Course course, const double size, const double spread_s,
     const unsigned seed)
{
  Random random = {seed};
  played.count = 0;
  const size_t count = sr_phrase_note_count(phrase);
  for (size_t i = 0; i < count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const bool again = i > 0 && sr_phrase_note(phrase, i - 1)->midi == note->midi;
    const double start = sr_fraction_value(note->start) / 0.375;
    const double end = start + 0.9 * sr_fraction_value(note->length) / 0.375;
    const double late_s = spread_s * random_normal(&random);
    played_note(&played, note, ZERO_S + PULSE_S * course(start, size) + late_s,
                ZERO_S + PULSE_S * course(end, size) + late_s, again);
  }
}

static double
another_tempo(const double pulses, const double faster)
{
  return pulses / (1.0 + faster);
}

/// The same, and the player wavers.
static double
wavering_tempo(const double pulses, const double faster)
{
  return pulses / (1.0 + faster) + 0.03 * sin(2.0 * M_PI * pulses / 5.0);
}

/// About the click, by so much of a pulse to either side.
static double
about_the_click(const double pulses, const double size)
{
  return pulses + size * sin(2.0 * M_PI * pulses / 11.0);
}

/// Away from it, and back to it every four pulses.
static double
back_to_the_click(const double pulses, const double size)
{
  return pulses - size * fmod(pulses, 4.0);
}

/// The same every eight pulses, with a wait that is long enough to be reported.
static double
back_to_eight(const double pulses, const double size)
{
  return pulses - size * fmod(pulses, 8.0);
}

/// In the middle it waits for a number of clicks.
static double
waited(const double pulses, const double size)
{
  return pulses + (pulses > 15.9 ? size : 0.0);
}

/// A bar in the middle takes a number of pulses more.
static double
slow_bar(const double pulses, const double size)
{
  return pulses + size * fmin(1.0, fmax(0.0, (pulses - 14.0) / 2.0));
}

/// What was left of the click is reported first, and nothing is reported that stands on it.
static void
check_left(const SrPhrase* const phrase, const double faster, const double reach)
{
  SrAssessment* const assessment = judge(phrase, PULSE_S);
  SrAssessment* const alone = judge(phrase, 0.0);
  const SrRound* const round = &assessment->rounds[0];
  const double ahead = reach * faster / (1.0 + faster);
  printf("%+.0f %%: %.2f pulses ahead, true %.2f, %.2f %% faster; %s\n", 100.0 * faster,
         round->pulse.left_pulses, ahead, round->pulse.left_percent, round->advice[0]);
  assert_true(fabs(round->pulse.left_pulses - ahead) < 0.08);
  assert_true(fabs(round->pulse.left_percent - 100.0 * faster) < 0.3);
  assert_true(isnan(round->pulse.mean_offset_ms));
  assert_non_null(strstr(round->advice[0], "you did not stay with the click"));
  assert_null(strstr(round->advice[0], "no faults heard"));
  assert_true(round->scores.evenness == alone->rounds[0].scores.evenness);
  assert_true(isnan(alone->rounds[0].pulse.left_pulses));
  sr_assessment_del(assessment);
  sr_assessment_del(alone);
}

static void
left_behind(void** const state)
{
  (void)state;
  static const double faster[] = {-0.1, -0.04, -0.02, 0.02, 0.045, 0.1};
  SrPhrase* const phrase = played_phrase(tune);
  const SrPhraseNote* const last = sr_phrase_note(phrase, sr_phrase_note_count(phrase) - 1);
  const double reach = sr_fraction_value(last->start) / 0.375;
  for (size_t i = 0; i < sizeof(faster) / sizeof(faster[0]); ++i) {
    play(phrase, another_tempo, faster[i], 0.004, (unsigned)i + 1);
    check_left(phrase, faster[i], reach);
    play(phrase, wavering_tempo, faster[i], 0.012, (unsigned)i + 11);
    check_left(phrase, faster[i], reach);
  }
  sr_phrase_del(phrase);
}

/// Some who stay with the click, or who meet it again.
static void
stayed(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    Course course;
    double size;
    double late_ms;
  } cases[] = {
      {"even", about_the_click, 0.0, 0.0},
      {"45 ms to either side", about_the_click, 0.06, 0.0},
      {"90 ms to either side", about_the_click, 0.12, 0.0},
      {"rushes, and is back every four pulses", back_to_the_click, 0.03, -34.0},
      {"drags, and is back every four pulses", back_to_the_click, -0.03, 34.0},
      {"rushes more, and waits for it", back_to_eight, 0.02, -60.0},
      {"waits for a click", waited, 1.0, 0.0},
      {"waits for two", waited, 2.0, 0.0},
      {"a bar that takes half as long again", slow_bar, 1.0, 0.0},
  };
  SrPhrase* const phrase = played_phrase(tune);
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    play(phrase, cases[i].course, cases[i].size, 0.005, (unsigned)i + 1);
    SrAssessment* const assessment = judge(phrase, PULSE_S);
    const SrPulse* const pulse = &assessment->rounds[0].pulse;
    printf("%s: left %.2f pulses, %.0f ms late on the mean; %s\n", cases[i].name,
           pulse->left_pulses, pulse->mean_offset_ms, assessment->rounds[0].advice[0]);
    assert_true(isnan(pulse->left_pulses));
    assert_true(isnan(pulse->left_percent));
    assert_true(fabs(pulse->mean_offset_ms - cases[i].late_ms) < 15.0);
    sr_assessment_del(assessment);
  }
  sr_phrase_del(phrase);
}

static double
shifted(const double pulses, const double size)
{
  return pulses + size;
}

/// Playing evenly, but ahead of the click or behind it: no clean round beyond what is usual, if the
/// click is known.
static void
off_the_click(void** const state)
{
  (void)state;
  static const struct {
    double late_ms;
    const char* what;
    const char* remedy;
  } cases[] = {{-141.0, "141 ms ahead of the click", "; wait for the click"},
               {-80.0, NULL, NULL},
               {-20.0, NULL, NULL},
               {40.0, NULL, NULL},
               {150.0, "150 ms behind the click", "; keep up with the click"}};
  SrPhrase* const phrase = played_phrase(tune);
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    play(phrase, shifted, cases[i].late_ms / 1e3 / PULSE_S, 0.0, 1);
    SrAssessment* const clicked = judge(phrase, PULSE_S);
    SrAssessment* const alone = judge(phrase, 0.0);
    const SrRound* const round = &clicked->rounds[0];
    printf("%.0f ms late: told %.0f ms; %s\n", cases[i].late_ms, round->pulse.mean_offset_ms,
           round->advice[0]);
    assert_true(fabs(round->pulse.mean_offset_ms - cases[i].late_ms) < 1.0);
    assert_int_equal(round->clean, !cases[i].what);
    assert_int_equal(sr_round_is_off_click(round), cases[i].what != NULL);
    assert_int_equal(sr_ladder_grade(round), cases[i].what ? SR_ROUND_FAIR : SR_ROUND_CLEAN);
    if (cases[i].what) {
      assert_non_null(strstr(round->advice[0], cases[i].what));
      assert_non_null(strstr(round->advice[0], cases[i].remedy));
    }
    assert_true(round->scores.evenness == alone->rounds[0].scores.evenness);
    assert_true(alone->rounds[0].clean);
    assert_false(sr_round_is_off_click(&alone->rounds[0]));
    sr_assessment_del(clicked);
    sr_assessment_del(alone);
  }
  sr_phrase_del(phrase);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(left_behind),
      cmocka_unit_test(stayed),
      cmocka_unit_test(off_the_click),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
