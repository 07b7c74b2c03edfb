// SPDX-License-Identifier: GPL-3.0-or-later

// The click goes away for some bars and comes back: how far off the player meets it, exact by
// construction.

#include "played.h"
#include "random.h"

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
#define BAR_S 1.5
#define ZERO_S 2.0

static const char tune[] = "X:1\nT:The Lamp Goes Out\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                           "A{c}AF DEF|ABc d2A|BGE FDF|EFE A3|A{c}AF DEF|ABc d2A|BGE FDF|EDD D3|\n";

static Played played;

/// Play it `late_s` behind the click, and from the silence at bar 3 on faster by this share; the
/// click is silent for the bars 3 to 6.
static SrAssessment*
play(const SrPhrase* const phrase, const double late_s, const double faster, const double spread_s,
     const double click_s, const unsigned seed)
{
  const double silence_s = ZERO_S + 2.0 * BAR_S;
  const SrSilence silences[] = {{silence_s, silence_s + 4.0 * BAR_S, 4}};
  Random random = {seed};
  played.count = 0;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const bool again = i > 0 && sr_phrase_note(phrase, i - 1)->midi == note->midi;
    double at_s = ZERO_S + sr_fraction_value(note->start) * 2.0;
    // Back with the click one note after it is back
    at_s -= at_s > silence_s && at_s < silences[0].end_s + 0.01
                ? (at_s - silence_s) * faster / (1.0 + faster)
                : 0.0;
    at_s += late_s + spread_s * random_normal(&random);
    played_note(&played, note, at_s, at_s + 0.9 * sr_fraction_value(note->length) * 2.0, again);
  }
  SrJudgeSettings settings = sr_judge_settings_default();
  settings.click_s = click_s;
  settings.click_period_s = PULSE_S;
  settings.click_pulses = 1.0;
  settings.silences = silences;
  settings.silence_count = 1;
  const SrTakeFacts facts = {.path = "test", .seconds = 100.0, .rate_hz = 44100.0};
  const SrHeard heard = {.events = played.events, .event_count = played.count};
  SrAssessment* assessment = NULL;
  assert_int_equal(sr_judge_take(phrase, &heard, &facts, &settings, &assessment, NULL), SR_OK);
  return assessment;
}

/// Ahead, behind, or with it; faster, slower, or steady.
static void
met_again(void** const state)
{
  (void)state;
  static const double faster[] = {0.0, 0.012, -0.01, 0.03};
  static const double late_ms[] = {0.0, 20.0, -15.0};
  SrPhrase* const phrase = played_phrase(tune);
  for (size_t f = 0; f < sizeof(faster) / sizeof(faster[0]); ++f) {
    for (size_t l = 0; l < sizeof(late_ms) / sizeof(late_ms[0]); ++l) {
      SrAssessment* const assessment =
          play(phrase, 1e-3 * late_ms[l], faster[f], 0.003, ZERO_S, (unsigned)(7 * f + l) + 1);
      const SrRound* const round = &assessment->rounds[0];
      assert_int_equal(round->alone_count, 1);
      assert_true(isnan(round->pulse.left_pulses));
      const SrAlone* const alone = &round->alone[0];
      const double change_ms = -1e3 * 4.0 * BAR_S * faster[f] / (1.0 + faster[f]);
      printf("%.1f %% faster, %.0f ms late: met it at %.1f ms, true %.1f; %.2f %% faster\n",
             100.0 * faster[f], late_ms[l], alone->offset_ms, late_ms[l] + change_ms,
             alone->tempo_percent);
      assert_int_equal(alone->silence.bars, 4);
      assert_true(fabs(alone->offset_ms - late_ms[l] - change_ms) < 5.0);
      assert_true(fabs(alone->change_ms - change_ms) < 6.0);
      assert_true(fabs(alone->tempo_percent - 100.0 * faster[f]) < 0.15);
      sr_assessment_del(assessment);
    }
  }
  sr_phrase_del(phrase);
}

/// Where it is not known when the click was heard, only the change is reported.
static void
click_not_heard(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(tune);
  SrAssessment* const assessment = play(phrase, 0.1, 0.012, 0.003, (double)NAN, 5);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->alone_count, 1);
  assert_true(isnan(round->alone[0].offset_ms));
  assert_true(fabs(round->alone[0].change_ms + 71.1) < 6.0);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

/// Far off over four bars: by how much, and how much too fast.
static void
far_off(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(tune);
  SrAssessment* const assessment = play(phrase, 0.0, 0.02, 0.002, ZERO_S, 9);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->alone_count, 1);
  assert_int_equal(round->alone[0].silence.bars, 4);
  printf("alone: %.1f ms, %.1f %%\n", round->alone[0].offset_ms, round->alone[0].tempo_percent);
  assert_true(fabs(fabs(round->alone[0].offset_ms) - 114.5) < 5.0);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(met_again),
      cmocka_unit_test(click_not_heard),
      cmocka_unit_test(far_off),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
