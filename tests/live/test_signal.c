// SPDX-License-Identifier: GPL-3.0-or-later

// The note that, held alone, is a signal.

#include "reported.h"

#include "played.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>

#define SIGNAL 48
#define CHUNK 240u
/// How exactly the time held is reported, s.
#define HELD_TOLERANCE_S 0.08

static const char jig[] = "X:1\nT:Before the Session\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n";
/// A phrase that begins and ends on the signal note, and holds it for long.
static const char low[] = "X:1\nT:Down There\nM:6/8\nL:1/8\nQ:3/8=30\nK:C\n"
                          "C,6|E,G,C EGE|C,6-|C,6|G,3 E,3|C,6|]\n";
#define NOTES 22u

static TakePlan plan;

static int
begin(void** const state)
{
  (void)state;
  plan = take_plan_default();
  plan.seed = 3;
  plan.bpm = 100.0;
  plan.floor_db = -60.0;
  return 0;
}

static Reported
listen(const SrPhrase* const phrase, const Scene* const scene, const int midi)
{
  SrLiveSettings settings = reported_settings(scene);
  settings.signal_midi = midi;
  return reported_of(phrase, &settings, scene, CHUNK);
}

static void
assert_signals(const Reported* const reported, const size_t given)
{
  const size_t count = reported_count(reported, SR_NEWS_SIGNAL);
  if (count != given) {
    reported_print(reported);
    fail_msg("%zu signals were told, %zu given", count, given);
  }
}

static void
assert_held(const Reported* const reported, const size_t index, const double from_s,
            const double to_s)
{
  const SrNews* const news = reported_nth(reported, SR_NEWS_SIGNAL, index);
  if (fabs(news->held_s - (to_s - from_s)) > HELD_TOLERANCE_S || news->at_s < to_s ||
      news->at_s > to_s + 0.3) {
    reported_print(reported);
    fail_msg("held for %.3f s until %.3f s, told %.3f s at %.3f s", to_s - from_s, to_s,
             news->held_s, news->at_s);
  }
}

static void
between_rounds(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(jig);
  Scene scene = scene_make(40.0);
  const double first_s = scene_play(&scene, phrase, &plan, 0.5) + 1.5;
  scene_add_note(&scene, SIGNAL, first_s, first_s + 2.6);
  // Twice, the second one long, and one that is too short in between
  scene_add_note(&scene, SIGNAL, first_s + 4.0, first_s + 5.2);
  scene_add_note(&scene, SIGNAL, first_s + 6.5, first_s + 13.0);
  scene_play(&scene, phrase, &plan, first_s + 15.0);
  Reported reported = listen(phrase, &scene, SIGNAL);
  assert_signals(&reported, 2);
  assert_held(&reported, 0, first_s, first_s + 2.6);
  assert_held(&reported, 1, first_s + 6.5, first_s + 13.0);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 2);
  for (size_t r = 0; r < 2; ++r) {
    assert_int_equal(reported_notes(reported_round(&reported, r), SR_NOTE_PLAYED), NOTES);
    assert_int_equal(reported_round(&reported, r)->insertion_count, 0);
  }
  reported_free(&reported);
  reported = listen(phrase, &scene, -1);
  assert_signals(&reported, 0);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 2);
  reported_free(&reported);
  scene_free(&scene);
  sr_phrase_del(phrase);
}

static void
before_anything_is_known(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(jig);
  Scene scene = scene_make(8.0);
  scene_add_note(&scene, SIGNAL, 1.0, 4.0);
  Reported reported = listen(phrase, &scene, SIGNAL);
  assert_signals(&reported, 1);
  assert_held(&reported, 0, 1.0, 4.0);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 0);
  reported_free(&reported);
  scene_free(&scene);
  sr_phrase_del(phrase);
}

/// With another note beside it, it is none; nor is any other note.
static void
not_alone(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(jig);
  Scene scene = scene_make(14.0);
  scene_add_note(&scene, SIGNAL, 1.0, 4.0);
  scene_add_note(&scene, SIGNAL + 7, 1.0, 4.0);
  scene_add_note(&scene, SIGNAL + 2, 6.0, 9.0);
  Reported reported = listen(phrase, &scene, SIGNAL);
  assert_signals(&reported, 0);
  reported_free(&reported);
  scene_free(&scene);
  sr_phrase_del(phrase);
}

/// What parts it for a moment, or sounds beside it, does not end it; a rest does.
static void
broken_for_a_moment(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(jig);
  Scene scene = scene_make(24.0);
  scene_add_note(&scene, SIGNAL, 1.0, 2.3);
  scene_add_note(&scene, SIGNAL, 2.36, 4.0);
  scene_add_note(&scene, SIGNAL, 6.0, 9.0);
  scene_add_note(&scene, SIGNAL + 19, 7.5, 7.56);
  scene_add_note(&scene, SIGNAL, 11.0, 12.4);
  scene_add_note(&scene, SIGNAL, 13.0, 14.4);
  Reported reported = listen(phrase, &scene, SIGNAL);
  assert_signals(&reported, 2);
  assert_held(&reported, 0, 1.0, 4.0);
  assert_held(&reported, 1, 6.0, 9.0);
  reported_free(&reported);
  scene_free(&scene);
  sr_phrase_del(phrase);
}

/// A long note of the phrase is no signal, even if it is that note; before and behind a round it
/// is one.
static void
part_of_a_round(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(low);
  plan.bpm = 30.0;
  Scene scene = scene_make(50.0);
  const double end_s = scene_play(&scene, phrase, &plan, 0.5);
  assert_true(end_s < 30.0);
  Reported reported = listen(phrase, &scene, SIGNAL);
  assert_signals(&reported, 0);
  assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1);
  assert_int_equal(reported_notes(reported_round(&reported, 0), SR_NOTE_PLAYED),
                   sr_phrase_note_count(phrase));
  reported_free(&reported);
  scene_free(&scene);
  sr_phrase_del(phrase);
}

/// Its reed is another instrument's than those that have been heard for four rounds.
static void
unlike_the_others(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(jig);
  plan.kind = REEDS_ACCORDION;
  Scene scene = scene_make(SLOW ? 30.0 : 50.0);
  double at_s = 0.5;
  for (int round = 0; round < (SLOW ? 1 : 4); ++round) {
    at_s = scene_play(&scene, phrase, &plan, at_s) + 1.5;
  }
  const double first_s = at_s;
  for (int signal = 0; signal < 3; ++signal) {
    scene_add_note(&scene, SIGNAL, at_s, at_s + 2.5);
    at_s += 5.0;
  }
  Reported reported = listen(phrase, &scene, SIGNAL);
  assert_signals(&reported, 3);
  for (size_t i = 0; i < 3; ++i) {
    assert_held(&reported, i, first_s + 5.0 * (double)i, first_s + 5.0 * (double)i + 2.5);
  }
  reported_free(&reported);
  scene_free(&scene);
  sr_phrase_del(phrase);
}

/// What was begun and left for something else, which goes on, does not make the signal a note of
/// it.
static void
behind_something_else(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(jig);
  // Too few for a round that is reported, and enough
  static const int begun[] = {69, 69, 69, 74, 74, 69, 71, 71, 67, 69, 69, 66};
  for (size_t notes = SLOW ? 12 : 2; notes <= 12; notes += 10) {
    Scene scene = scene_make(30.0);
    double at_s = scene_play(&scene, phrase, &plan, 0.5) + 2.0;
    for (size_t i = 0; i < notes; ++i, at_s += 0.2) {
      scene_add_note(&scene, begun[i], at_s, at_s + 0.15);
    }
    scene_add_note(&scene, 60, at_s, at_s + 5.0);
    at_s += 5.5;
    scene_add_note(&scene, SIGNAL, at_s, at_s + 2.5);
    Reported reported = listen(phrase, &scene, SIGNAL);
    assert_signals(&reported, 1);
    assert_int_equal(reported_count(&reported, SR_NEWS_ROUND), 1 + notes / 12);
    assert_held(&reported, 0, at_s, at_s + 2.5);
    reported_free(&reported);
    scene_free(&scene);
  }
  sr_phrase_del(phrase);
}

#define SIGNAL_TEST(name) cmocka_unit_test_setup(name, begin)

int
main(void)
{
  const struct CMUnitTest tests[] = {SIGNAL_TEST(between_rounds),
                                     SIGNAL_TEST(before_anything_is_known),
                                     SIGNAL_TEST(not_alone),
                                     SIGNAL_TEST(broken_for_a_moment),
                                     SIGNAL_TEST(part_of_a_round),
                                     SIGNAL_TEST(unlike_the_others),
                                     SIGNAL_TEST(behind_something_else)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
