// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_score.c
   Notes whose times and odds are made up, laid in bars: what is doubtful, and an upbeat as asked.

   usage: test_score
*/

#include <steadyreed/transcribe.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define QUAVER_S 0.25
#define NOTES 24

/// Quavers of a scale; before the seventh a short note, which may be its grace.
static void
make_notes(SrPlayedNote* const notes, const double grace_nats)
{
  static const int pitches[] = {62, 64, 66, 67, 69, 71};
  size_t count = 0;
  for (int i = 0; i < NOTES; ++i) {
    const double at_s = 1.0 + QUAVER_S * i;
    const int midi = pitches[i % 6];
    double from_s = at_s;
    if (i == 6) {
      notes[count++] = (SrPlayedNote){.onset_s = at_s,
                                      .end_s = at_s + 0.1,
                                      .midi = 69,
                                      .grace_nats = grace_nats,
                                      .grace_pitch = 69};
      from_s = at_s + 0.1;
    }
    notes[count++] = (SrPlayedNote){.onset_s = from_s,
                                    .end_s = at_s + QUAVER_S - 0.02,
                                    .midi = midi,
                                    .grace_nats = (double)NAN,
                                    .grace_pitch = midi};
  }
}

/// Its score, with the bars of a jig; `text` receives its ABC, to be freed.
static SrScore
score_of(const double grace_nats, const double upbeat_quavers, char** const text)
{
  SrPlayedNote notes[NOTES + 1];
  make_notes(notes, grace_nats);
  SrPlayedNotes played = {.notes = notes, .count = NOTES + 1, .reference_hz = 440.0};
  SrScoreWish wish = sr_score_wish_none();
  wish.meter_beats = 6;
  wish.meter_unit = 8;
  wish.upbeat_quavers = upbeat_quavers;
  SrScore score;
  SrError error = {0};
  assert_int_equal(sr_score_make(&played, &wish, &score, &error), SR_OK);
  size_t size = 0;
  FILE* const stream = open_memstream(text, &size);
  assert_non_null(stream);
  sr_score_write(stream, &score, "Scale");
  fclose(stream);
  return score;
}

/// Whether the seventh note has a grace, and whether that is doubtful.
static void
check_grace(const double nats, const bool grace, const bool doubtful)
{
  char* text = NULL;
  SrScore score = score_of(nats, 0.0, &text);
  size_t graces = 0;
  size_t doubts = 0;
  for (size_t i = 0; i < score.count; ++i) {
    graces += score.notes[i].played.grace_count > 0;
    doubts += score.notes[i].doubtful;
  }
  assert_int_equal(graces, grace);
  assert_int_equal(doubts, doubtful);
  assert_true((strstr(text, "|]\n% bar 2: cut before D doubtful\n") != NULL) == doubtful);
  sr_score_clear(&score);
  free(text);
}

/// The odds are swept until the note becomes a grace: it is doubtful there, and sure well above.
static void
a_doubtful_cut_is_told(void** const state)
{
  (void)state;
  double turns = -60.0;
  for (; turns < 60.0; turns += 0.5) {
    char* text = NULL;
    SrScore score = score_of(turns, 0.0, &text);
    const bool grace = score.count == NOTES;
    sr_score_clear(&score);
    free(text);
    if (grace) {
      break;
    }
  }
  assert_true(turns > -60.0 && turns < 60.0);
  check_grace(turns - 1.0, false, false);
  check_grace(turns, true, true);
  check_grace(turns + 6.0, true, false);
}

static void
an_upbeat_is_taken_as_asked(void** const state)
{
  (void)state;
  static const double upbeats[] = {0.0, 1.0, 2.0, 3.0, 5.0};
  for (size_t i = 0; i < sizeof(upbeats) / sizeof(upbeats[0]); ++i) {
    char* text = NULL;
    SrScore score = score_of(60.0, upbeats[i], &text);
    assert_float_equal((double)score.upbeat, upbeats[i] * SR_SCORE_PLACES, 1e-9);
    assert_float_equal(score.sure_upbeat, 1.0, 1e-9);
    const long within = score.notes[0].start % (6L * SR_SCORE_PLACES);
    assert_int_equal((within + score.upbeat) % (6L * SR_SCORE_PLACES), 0);
    sr_score_clear(&score);
    free(text);
  }
  SrPlayedNote notes[NOTES + 1];
  make_notes(notes, 60.0);
  SrPlayedNotes played = {.notes = notes, .count = NOTES + 1, .reference_hz = 440.0};
  SrScoreWish wish = sr_score_wish_none();
  wish.upbeat_quavers = 0.3;
  SrScore score;
  SrError error = {0};
  assert_int_equal(sr_score_make(&played, &wish, &score, &error), SR_BAD_ARGUMENT);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_doubtful_cut_is_told),
      cmocka_unit_test(an_upbeat_is_taken_as_asked),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
