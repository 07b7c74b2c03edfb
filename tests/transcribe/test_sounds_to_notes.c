// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_sounds_to_notes.c
   Sounds as the engine gives them, made into notes and cuts without a phrase.
*/

#include "transcribe/joined_sounds.h"
#include "transcribe/roles.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

/// A sound as a reed gives it, of a pitch that did not sound just before.
static SrEvent
sound(const double onset_s, const double end_s, const int midi, const double level_db)
{
  return (SrEvent){.kind = SR_EVENT_SOUND,
                   .onset_s = onset_s,
                   .end_s = end_s,
                   .midi = midi,
                   .frequency_hz = (double)NAN,
                   .level_db = level_db,
                   .fall_db = (double)NAN,
                   .phase_kept = (double)NAN,
                   .fit = 0.95};
}

/// The same, after which its pitch fell silent in between.
static SrEvent
again(const double onset_s, const double end_s, const int midi, const double level_db)
{
  SrEvent event = sound(onset_s, end_s, midi, level_db);
  event.fall_db = 60.0;
  return event;
}

/// Of four notes the second was heard in another octave than in the draft. Gives what it became.
static int
settled(const int heard, const int drafted)
{
  SrPlayedNote notes[] = {{.onset_s = 0.0, .end_s = 0.2, .midi = 72},
                          {.onset_s = 0.2, .end_s = 0.4, .midi = drafted},
                          {.onset_s = 0.4, .end_s = 0.6, .midi = 70},
                          {.onset_s = 0.6, .end_s = 0.8, .midi = 67}};
  const SrPlayedNotes draft = {.notes = notes, .count = 4, .doubled = true};
  SrEvent sounds[] = {sound(0.0, 0.2, 72, -18.0), sound(0.2, 0.4, heard, -18.0),
                      sound(0.4, 0.6, 70, -18.0), sound(0.6, 0.8, 67, -18.0)};
  sr_sounds_settle_octaves(sounds, 4, &draft);
  assert_int_equal(sounds[0].midi, 72);
  assert_int_equal(sounds[2].midi, 70);
  assert_int_equal(sounds[3].midi, 67);
  return sounds[1].midi;
}

static void
of_two_octaves_the_nearer_is_written(void** const state)
{
  (void)state;
  // A pair heard as its lower reed
  assert_int_equal(settled(62, 74), 74);
  assert_int_equal(settled(79, 67), 67);
  // The draft, too, may be wrong
  assert_int_equal(settled(67, 79), 67);
  assert_int_equal(settled(74, 62), 74);
  // Another pitch is no octave of it
  assert_int_equal(settled(62, 67), 62);
}

static void
graces_have_no_other_octave(void** const state)
{
  (void)state;
  SrPlayedNote notes[] = {{.onset_s = 0.0, .end_s = 0.2, .midi = 74},
                          {.onset_s = 0.2, .end_s = 0.25, .midi = 66},
                          {.onset_s = 0.25, .end_s = 0.5, .midi = 62}};
  const SrPlayedNotes draft = {.notes = notes, .count = 3, .doubled = true};
  SrEvent sounds[] = {sound(0.0, 0.2, 74, -18.0), sound(0.2, 0.25, 78, -22.0),
                      sound(0.25, 0.5, 62, -18.0)};
  sr_sounds_settle_octaves(sounds, 3, &draft);
  assert_int_equal(sounds[1].midi, 78);
}

/// Two cuts of one pitch a tenth of a second apart, the note not let go for the second one.
static SrPlayedNotes
cut_twice(const double second_db)
{
  SrEvent sounds[] = {sound(0.0, 0.2, 67, -19.0), sound(0.2, 0.24, 71, -22.0),
                      again(0.24, 0.52, 67, -19.0), again(0.335, 0.395, 71, second_db),
                      sound(0.52, 0.72, 66, -16.0)};
  SrPlayedNotes played = {.doubled = false};
  assert_int_equal(sr_roles_tell(sounds, 5, &played), SR_OK);
  assert_non_null(played.notes);
  return played;
}

static void
a_reflection_is_softer_than_what_it_follows(void** const state)
{
  (void)state;
  SrPlayedNotes played = cut_twice(-21.5);
  assert_int_equal(played.count, 4);
  assert_int_equal(played.notes[2].midi, 67);
  assert_int_equal(played.notes[2].grace_count, 1);
  assert_int_equal(played.notes[2].grace_midi[0], 71);
  sr_played_notes_clear(&played);
  played = cut_twice(-30.0);
  assert_int_equal(played.count, 3);
  assert_int_equal(played.notes[2].midi, 66);
  sr_played_notes_clear(&played);
}

/// A brief soft sound nine semitones below a long note that sounds on.
static SrPlayedNotes
low_within(const bool doubled)
{
  SrEvent sounds[] = {sound(0.0, 0.6, 78, -21.0), sound(0.28, 0.31, 69, -29.0),
                      sound(0.6, 0.9, 74, -18.0)};
  SrPlayedNotes played = {.doubled = doubled};
  assert_int_equal(sr_roles_tell(sounds, 3, &played), SR_OK);
  assert_non_null(played.notes);
  return played;
}

static void
in_octaves_a_cut_may_be_heard_below_its_note(void** const state)
{
  (void)state;
  SrPlayedNotes played = low_within(true);
  assert_int_equal(played.count, 3);
  assert_int_equal(played.notes[1].midi, 78);
  assert_int_equal(played.notes[1].grace_count, 1);
  assert_int_equal(played.notes[1].grace_midi[0], 81);
  sr_played_notes_clear(&played);
  played = low_within(false);
  assert_int_equal(played.count, 2);
  sr_played_notes_clear(&played);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(of_two_octaves_the_nearer_is_written),
      cmocka_unit_test(graces_have_no_other_octave),
      cmocka_unit_test(a_reflection_is_softer_than_what_it_follows),
      cmocka_unit_test(in_octaves_a_cut_may_be_heard_below_its_note),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
