// SPDX-License-Identifier: GPL-3.0-or-later

// Releases of air in the judge, one at a time: which note they belong to, whether they were
// asked for, what the notes did, what they cost and what is advised.

#include "played.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define SPW 2.0

static const char drill[] = "X:1\nT:Sip\nM:4/4\nL:1/8\nQ:1/4=120\nK:C\n"
                            "CEGE \"^air\"F4|CEGE \"^air\"F4|]\n";
enum { NOTES = 10, FIRST_AIR = 4, SECOND_AIR = 9 };

static SrPhrase* phrase;
static Played played;

static int
begin(void** const state)
{
  (void)state;
  phrase = played_phrase(drill);
  memset(&played, 0, sizeof(played));
  played_round(&played, phrase, 1.0, SPW);
  return sr_phrase_note_count(phrase) == NOTES ? 0 : -1;
}

static int
end(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  return 0;
}

/// A release, `over_db` over what a tone of 80 dB at 1.85 kHz hides.
static SrAirHeard*
add_air(const double start_s, const double end_s, const double over_db)
{
  SrAirHeard* const air = &played.air[played.air_count++];
  // 0.0126 is 80.02 dB; its offset at 12.48 Bark is 9.46 dB, of two bands one is silent: 3.01 dB
  *air = (SrAirHeard){.start_s = start_s,
                      .end_s = end_s,
                      .midi = 65,
                      .note_power = 0.0126,
                      .dip_db = 0.4,
                      .bend_cents = (double)NAN};
  air->tone[12] = 0.0126;
  air->place_hz[12] = sqrt(1720.0 * 2000.0);
  const double bark_offset = 6.025 + 0.275 * 12.48;
  air->hiss[12] = 0.0126 * pow(10.0, (over_db + 3.01 - bark_offset) / 10.0);
  air->hiss_power = air->hiss[12];
  return air;
}

static SrAssessment*
judge(void)
{
  SrStatus status = SR_OK;
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->round_count, 1);
  return assessment;
}

static double
due_of(const size_t note)
{
  return 1.0 + sr_fraction_value(sr_phrase_note(phrase, note)->start) * SPW;
}

static void
hides_what_is_not_heard(void** const state)
{
  (void)state;
  SrAssessment* const assessment = judge();
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->air_count, 0);
  assert_true(round->notes[FIRST_AIR].air_asked);
  assert_false(round->notes[0].air_asked);
  // Asked for and not heard is the goal
  assert_true(fabs(round->scores.air - 100.0) < 1e-9);
  sr_assessment_del(assessment);
}

static void
finds_the_note_it_lies_under(void** const state)
{
  (void)state;
  const double due_s = due_of(FIRST_AIR);
  add_air(due_s + 0.3, due_s + 0.5, 4.0);
  add_air(due_of(1) + 0.05, due_of(1) + 0.2, -6.0);
  SrAssessment* const assessment = judge();
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->air_count, 2);
  assert_int_equal(round->air[0].note_index, FIRST_AIR);
  assert_true(round->air[0].asked);
  assert_true(round->air[0].audible);
  assert_true(fabs(round->air[0].over_mask_db - 4.0) < 0.1);
  assert_int_equal(round->air[1].note_index, 1);
  assert_false(round->air[1].asked);
  assert_false(round->air[1].audible);
  assert_true(isnan(round->air[0].late_ms));
  assert_false(round->air[0].failed);
  // Places: two releases, and the second long note where none was. 4 dB over: 1/3 + 2/3 * 4/12
  assert_true(fabs(round->scores.air - 100.0 * (1.0 - (1.0 / 3.0 + 2.0 / 9.0) / 3.0)) < 0.5);
  sr_assessment_del(assessment);
}

static void
costs_the_whole_place_when_far_over(void** const state)
{
  (void)state;
  add_air(due_of(FIRST_AIR) + 0.3, due_of(FIRST_AIR) + 0.5, 15.0);
  add_air(due_of(SECOND_AIR) + 0.3, due_of(SECOND_AIR) + 0.5, 12.5);
  SrAssessment* const assessment = judge();
  assert_true(fabs(assessment->rounds[0].scores.air) < 1e-9);
  sr_assessment_del(assessment);
}

static void
is_silent_where_nothing_was_asked(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  phrase = played_phrase("X:1\nT:Plain\nM:4/4\nL:1/8\nK:C\nCEGE F4|CEGE F4|]\n");
  SrAssessment* assessment = judge();
  assert_true(isnan(assessment->rounds[0].scores.air));
  sr_assessment_del(assessment);
  add_air(due_of(FIRST_AIR) + 0.3, due_of(FIRST_AIR) + 0.5, -3.0);
  assessment = judge();
  assert_true(fabs(assessment->rounds[0].scores.air - 100.0) < 1e-9);
  assert_false(assessment->rounds[0].air[0].asked);
  sr_assessment_del(assessment);
}

static void
leaves_out_what_is_before_and_behind(void** const state)
{
  (void)state;
  add_air(0.2, 0.5, 10.0);
  add_air(12.0, 12.4, 10.0);
  SrAssessment* const assessment = judge();
  assert_int_equal(assessment->rounds[0].air_count, 0);
  sr_assessment_del(assessment);
}

static void
tells_a_note_that_spoke_late(void** const state)
{
  (void)state;
  // The first note of bar 2 comes 60 ms late, under air
  SrEvent* const late = &played.events[5];
  late->onset_s += 0.06;
  add_air(due_of(5) - 0.15, due_of(5) + 0.05, 5.0);
  SrAssessment* const assessment = judge();
  const SrRound* const round = &assessment->rounds[0];
  // Less what the fitted pulse gives way
  assert_true(round->air[0].late_ms > 35.0 && round->air[0].late_ms < 65.0);
  sr_assessment_del(assessment);
}

static void
tells_a_note_that_failed(void** const state)
{
  (void)state;
  // The G of bar 2 never comes
  memmove(&played.events[7], &played.events[8], (played.count - 8) * sizeof(SrEvent));
  --played.count;
  add_air(due_of(7) - 0.05, due_of(7) + 0.15, 5.0);
  SrAssessment* const assessment = judge();
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->notes[7].status, SR_NOTE_MISSED);
  assert_true(round->air[0].failed);
  sr_assessment_del(assessment);
}

static void
advises_where_and_how_loud(void** const state)
{
  (void)state;
  SrAirHeard* const air = add_air(due_of(FIRST_AIR) + 0.3, due_of(FIRST_AIR) + 0.5, 6.0);
  air->dip_db = 3.0;
  SrAssessment* const assessment = judge();
  assert_string_equal(assessment->rounds[0].advice[0],
                      "bar 1, the F: air heard, 6 dB louder than the note can hide, and the note "
                      "dipped; press the button less, and sooner");
  sr_assessment_del(assessment);
}

static void
advises_to_hide_a_gulp(void** const state)
{
  (void)state;
  SrAirHeard* const air = add_air(due_of(FIRST_AIR) + 0.7, due_of(FIRST_AIR) + 0.95, 20.0);
  air->midi = -1;
  SrAssessment* const assessment = judge();
  assert_true(assessment->rounds[0].air[0].between);
  assert_int_equal(assessment->rounds[0].air[0].note_index, FIRST_AIR);
  sr_assessment_del(assessment);
}

/// A short note that the air hid for a moment is one note, not two.
static void
joins_what_the_air_hid(void** const state)
{
  (void)state;
  const size_t note = 1;
  const double due_s = due_of(note);
  SrEvent* const first = &played.events[note];
  const double end_s = first->end_s;
  first->end_s = due_s + 0.08;
  played_add(&played, first->midi, due_s + 0.15, end_s, (double)NAN);
  SrAssessment* assessment = judge();
  assert_int_equal(assessment->rounds[0].insertion_count, 1);
  sr_assessment_del(assessment);
  add_air(due_s + 0.06, due_s + 0.14, 5.0);
  assessment = judge();
  assert_int_equal(assessment->rounds[0].insertion_count, 0);
  assert_true(fabs(assessment->rounds[0].notes[note].end_s - end_s) < 1e-9);
  sr_assessment_del(assessment);
}

/// What a recorder wrote there itself is nobody's air: none is reported, none scored, and it is
/// said why.
static void
tells_none_that_was_not_recorded(void** const state)
{
  (void)state;
  const SrAirCarriage carriages[] = {SR_AIR_REWRITTEN, SR_AIR_BAND_MISSING};
  add_air(due_of(FIRST_AIR) + 0.3, due_of(FIRST_AIR) + 0.6, 12.0);
  for (size_t i = 0; i < 2; ++i) {
    played.air_carriage = carriages[i];
    SrAssessment* const assessment = judge();
    const SrRound* const round = &assessment->rounds[0];
    assert_true(assessment->air_carriage == carriages[i]);
    assert_non_null(strstr(sr_judge_air_unreported(carriages[i]), "air is not judged"));
    assert_int_equal(round->air_count, 0);
    assert_true(isnan(round->scores.air));
    assert_true(round->scores.evenness > 90.0);
    assert_false(round->notes[FIRST_AIR].air_asked);
    sr_assessment_del(assessment);
  }
  assert_null(sr_judge_air_unreported(SR_AIR_CARRIED));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(hides_what_is_not_heard, begin, end),
      cmocka_unit_test_setup_teardown(finds_the_note_it_lies_under, begin, end),
      cmocka_unit_test_setup_teardown(costs_the_whole_place_when_far_over, begin, end),
      cmocka_unit_test_setup_teardown(is_silent_where_nothing_was_asked, begin, end),
      cmocka_unit_test_setup_teardown(leaves_out_what_is_before_and_behind, begin, end),
      cmocka_unit_test_setup_teardown(tells_a_note_that_spoke_late, begin, end),
      cmocka_unit_test_setup_teardown(tells_a_note_that_failed, begin, end),
      cmocka_unit_test_setup_teardown(advises_where_and_how_loud, begin, end),
      cmocka_unit_test_setup_teardown(advises_to_hide_a_gulp, begin, end),
      cmocka_unit_test_setup_teardown(joins_what_the_air_hid, begin, end),
      cmocka_unit_test_setup_teardown(tells_none_that_was_not_recorded, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
