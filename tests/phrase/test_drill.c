// SPDX-License-Identifier: GPL-3.0-or-later

// Drills are read back by the phrase reader, and must be what was asked for.

#include <steadyreed/drill.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char* const KEYS[] = {"C", "G", "D", "A", "F", "Bb"};
enum { KEY_COUNT = 6 };

static SrPhrase*
read_back(const SrDrillPlan* const plan)
{
  char* text = NULL;
  SrError error = {0};
  if (sr_drill_write(plan, &text, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  SrPhrase* phrase = NULL;
  if (sr_phrase_read_text(text, strlen(text), "drill", NULL, &phrase, &error) != SR_OK) {
    fail_msg("%s\n%s", error.message, text);
  }
  // What it is for, and how to count it
  assert_non_null(strstr(text, "\nN:For "));
  assert_non_null(strstr(text, "\nN:Count "));
  assert_non_null(strstr(text, "%abc-2.1\n"));
  free(text);
  return phrase;
}

static SrDrillPlan
plan_in(const SrDrillKind kind, const char* const key)
{
  SrDrillPlan plan = sr_drill_plan_default(kind);
  memset(plan.key, 0, sizeof(plan.key));
  memcpy(plan.key, key, strlen(key));
  return plan;
}

/// Every note from C3 to C6, in every key, in twos and threes, with and without a note between.
static void
cuts_on_any_note(void** const state)
{
  (void)state;
  for (size_t k = 0; k < KEY_COUNT; ++k) {
    for (int midi = 48; midi <= 84; ++midi) {
      SrDrillPlan plan = plan_in(SR_DRILL_CUTS, KEYS[k]);
      plan.midi = midi;
      plan.count = 2 + midi % 2;
      plan.between = midi % 3 == 0;
      plan.bars = 1 + midi % 9;
      SrPhrase* const phrase = read_back(&plan);
      const size_t group = (size_t)(plan.count + plan.between);
      assert_int_equal(sr_phrase_note_count(phrase), group * (size_t)plan.bars);
      for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
        const SrPhraseNote* const note = sr_phrase_note(phrase, i);
        const size_t place = i % group;
        if (place < (size_t)plan.count) {
          assert_int_equal(note->midi, midi);
          const int cut = place ? sr_drill_scale_above(plan.key, midi, 2) : -1;
          assert_int_equal(note->cut_midi, cut);
        } else {
          assert_int_not_equal(note->midi, midi);
          assert_true(sr_drill_in_key(plan.key, note->midi));
        }
      }
      sr_phrase_del(phrase);
    }
  }
}

static void
cuts_with_the_cut_asked_for(void** const state)
{
  (void)state;
  SrDrillPlan plan = sr_drill_plan_default(SR_DRILL_CUTS);
  plan.cut_midi = 74;
  SrPhrase* const phrase = read_back(&plan);
  assert_int_equal(sr_phrase_note(phrase, 1)->cut_midi, 74);
  sr_phrase_del(phrase);
}

static void
air_on_the_answer_only(void** const state)
{
  (void)state;
  static const int run[] = {60, 64, 67, 72, 76, 72, 67, 64, 60};
  for (size_t count = 3; count <= 9; ++count) {
    SrDrillPlan plan = plan_in(SR_DRILL_AIR, "C");
    plan.run_count = count;
    plan.answer = 62;
    plan.answer_both = true;
    plan.direction = count % 2 ? SR_DIRECTION_PRESS : SR_DIRECTION_DRAW;
    for (size_t i = 0; i < count; ++i) {
      plan.run[i] = run[i];
      plan.both[i] = i % 2 == 0;
    }
    SrPhrase* const phrase = read_back(&plan);
    assert_int_equal(sr_phrase_note_count(phrase), (count + 1) * (size_t)plan.bars);
    for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, i);
      const size_t place = i % (count + 1);
      const SrDirection other =
          plan.direction == SR_DIRECTION_PRESS ? SR_DIRECTION_DRAW : SR_DIRECTION_PRESS;
      assert_int_equal(note->air, place == count);
      assert_int_equal(note->midi, place == count ? 62 : run[place]);
      assert_int_equal(note->direction, place == count   ? other
                                        : place % 2 == 0 ? plan.direction
                                                         : SR_DIRECTION_FREE);
    }
    // Whole bars: the pulse stays where it is
    const SrFraction length = sr_phrase_length(phrase);
    const SrFraction bar = sr_phrase_bar(phrase, 0)->length;
    assert_int_equal(length.numerator * bar.denominator,
                     (int64_t)plan.bars * bar.numerator * length.denominator);
    sr_phrase_del(phrase);
  }
}

static void
steady_without_a_repeat(void** const state)
{
  (void)state;
  for (size_t k = 0; k < KEY_COUNT; ++k) {
    SrDrillPlan plan = plan_in(SR_DRILL_STEADY, KEYS[k]);
    SrPhrase* const phrase = read_back(&plan);
    assert_int_equal(sr_phrase_note_count(phrase), 4 * (size_t)plan.bars);
    for (size_t i = 1; i < sr_phrase_note_count(phrase); ++i) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, i);
      assert_int_not_equal(note->midi, sr_phrase_note(phrase, i - 1)->midi);
      assert_int_equal(note->length.denominator, 8);
      assert_true(note->cut_midi < 0);
    }
    sr_phrase_del(phrase);
  }
}

static void
refuses_what_cannot_be(void** const state)
{
  (void)state;
  char* text = NULL;
  SrError error = {0};
  SrDrillPlan plan = plan_in(SR_DRILL_CUTS, "H");
  assert_int_equal(sr_drill_write(&plan, &text, &error), SR_BAD_ARGUMENT);
  assert_null(text);
  assert_non_null(strstr(error.message, "\"H\""));
  plan = sr_drill_plan_default(SR_DRILL_CUTS);
  plan.cut_midi = 60;
  assert_int_equal(sr_drill_write(&plan, &text, &error), SR_BAD_ARGUMENT);
  plan = sr_drill_plan_default(SR_DRILL_CUTS);
  plan.midi = 30;
  assert_int_equal(sr_drill_write(&plan, &text, &error), SR_BAD_ARGUMENT);
  plan = sr_drill_plan_default(SR_DRILL_AIR);
  assert_int_equal(sr_drill_write(&plan, &text, &error), SR_BAD_ARGUMENT);
  plan = sr_drill_plan_default(SR_DRILL_STEADY);
  plan.bars = 0;
  assert_int_equal(sr_drill_write(&plan, &text, NULL), SR_BAD_ARGUMENT);
}

/// C major from its tonic: common knowledge.
static void
climbs_the_scale(void** const state)
{
  (void)state;
  static const int scale[] = {60, 62, 64, 65, 67, 69, 71, 72};
  for (int i = 0; i < 8; ++i) {
    assert_int_equal(sr_drill_scale_above("C", 60, i), scale[i]);
    assert_int_equal(sr_drill_scale_above("C", 72, -i), scale[7 - i]);
  }
  assert_int_equal(sr_drill_scale_above("C", 61, 1), 62);
  assert_int_equal(sr_drill_scale_above("Q", 61, 1), -1);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cuts_on_any_note),       cmocka_unit_test(cuts_with_the_cut_asked_for),
      cmocka_unit_test(air_on_the_answer_only), cmocka_unit_test(steady_without_a_repeat),
      cmocka_unit_test(refuses_what_cannot_be), cmocka_unit_test(climbs_the_scale),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
