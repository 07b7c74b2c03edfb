// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_shipped.c
   The shipped layouts against facts of the trade. All of these are common practice, no source:
   what anyone who plays these boxes knows of them, written down here apart from the layouts.

   The first argument is the folder of the layouts, the others are all of them.
*/

#include "plan/pitch_name.h"

#include <steadyreed/instrument.h>

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* folder;
static char** paths;
static size_t path_count;

static SrInstrument*
shipped(const char* const name)
{
  char path[4096];
  snprintf(path, sizeof(path), "%s/%s.json", folder, name);
  SrInstrument* instrument = NULL;
  SrError error = {0};
  if (sr_instrument_read_file(path, &instrument, &error) != SR_OK) {
    fail_msg("%s: %s", path, error.message);
  }
  return instrument;
}

static int
midi_of(const char* const name)
{
  int midi = -1;
  if (!sr_pitch_name_midi(name, &midi)) {
    fail_msg("\"%s\" is not a note", name);
  }
  return midi;
}

static const SrButton*
at(const SrInstrument* const instrument, const SrHand hand, const int row, const int column)
{
  char name[16];
  snprintf(name, sizeof(name), "%c%d-%d", hand == SR_HAND_LEFT ? 'L' : 'R', row, column);
  const size_t index = sr_instrument_find(instrument, name);
  if (index == sr_instrument_button_count(instrument)) {
    fail_msg("%s has no %s", sr_instrument_name(instrument), name);
  }
  return sr_instrument_button(instrument, index);
}

/// The note of the button at a place along a whole row: 1 to 5 on the left, 6 to 10 on the right.
static int
along(const SrInstrument* const instrument, const int row, const int place,
      const SrDirection direction)
{
  const SrButton* const button = at(instrument, place <= 5 ? SR_HAND_LEFT : SR_HAND_RIGHT, row,
                                    place <= 5 ? place : place - 5);
  return direction == SR_DIRECTION_PRESS ? button->press_midi : button->draw_midi;
}

/// The keys of the two rows nearest to the palm: names of layouts, and the lowest tonic that begins
/// a whole scale on each, by MIDI.
static const struct {
  const char* ending;
  int palm, next;
  int shift; ///< From C and G
} boxes[] = {
    {"c-g", 67, 60, 0},
    {"g-d", 62, 55, -5},
    {"b-flat-f", 65, 58, -2},
};

static const char* const kinds[] = {"20-%s", "30-%s", "30-%s-both"};

static SrInstrument*
box(const size_t kind, const size_t key)
{
  char name[64];
  const char* const format = kinds[kind];
  const int before = (int)(strchr(format, '%') - format);
  snprintf(name, sizeof(name), "%.*s%s%s", before, format, boxes[key].ending, format + before + 2);
  return shipped(name);
}

/// Every shipped layout can be read, says what it is, and has the air button at the right thumb.
static void
all_are_read(void** const state)
{
  (void)state;
  assert_int_equal(path_count, 10);
  for (size_t i = 0; i < path_count; ++i) {
    SrInstrument* instrument = NULL;
    SrError error = {0};
    if (sr_instrument_read_file(paths[i], &instrument, &error) != SR_OK) {
      fail_msg("%s: %s", paths[i], error.message);
      return;
    }
    const char* const name = sr_instrument_name(instrument);
    const size_t count = sr_instrument_button_count(instrument);
    // The number of buttons begins both names
    assert_int_equal(strtoul(name, NULL, 10), count);
    assert_int_equal(strtoul(sr_instrument_title(instrument), NULL, 10), count);
    assert_true(count == 20 || count == 30 || count == 38);
    assert_int_equal(sr_instrument_air_hand(instrument), SR_HAND_RIGHT);
    assert_int_equal(sr_instrument_air_finger(instrument), SR_FINGER_THUMB);
    size_t left = 0;
    for (size_t b = 0; b < count; ++b) {
      const SrButton* const button = sr_instrument_button(instrument, b);
      left += button->hand == SR_HAND_LEFT;
      assert_true(button->press_midi >= 0 && button->draw_midi >= 0);
      assert_int_equal(sr_instrument_find(instrument, button->name), b);
      assert_true(button->row == 0 || button->finger != SR_FINGER_THUMB);
    }
    assert_int_equal(2 * left, count);
    sr_instrument_del(instrument);
  }
}

/// Four fingers in their order over the columns, the little one with two of the five.
static void
fingers_follow_the_columns(void** const state)
{
  (void)state;
  static const SrFinger left[] = {SR_FINGER_LITTLE, SR_FINGER_LITTLE, SR_FINGER_RING,
                                  SR_FINGER_MIDDLE, SR_FINGER_INDEX};
  for (size_t kind = 0; kind < 3; ++kind) {
    SrInstrument* const instrument = box(kind, 0);
    for (size_t i = 0; i < sr_instrument_button_count(instrument); ++i) {
      const SrButton* const button = sr_instrument_button(instrument, i);
      // The right hand is the left one in a mirror
      const int column = button->hand == SR_HAND_LEFT ? button->column : 6 - button->column;
      assert_int_equal(button->finger, left[column - 1]);
    }
    sr_instrument_del(instrument);
  }
}

/**
   Each of the two rows is one key: from the third button of the left hand, press and draw in turn
   give its major scale for two octaves, the change of order at the seventh step as on any such row.
*/
static void
rows_in_turn_give_their_scale(void** const state)
{
  (void)state;
  static const SrDirection press = SR_DIRECTION_PRESS;
  static const SrDirection draw = SR_DIRECTION_DRAW;
  const struct {
    int place;
    SrDirection direction;
    int step; ///< Semitones over the tonic
  } scale[] = {
      {3, press, 0},   {3, draw, 2},   {4, press, 4},  {4, draw, 5},   {5, press, 7},
      {5, draw, 9},    {6, draw, 11},  {6, press, 12}, {7, draw, 14},  {7, press, 16},
      {8, draw, 17},   {8, press, 19}, {9, draw, 21},  {10, draw, 23}, {9, press, 24},
      {10, press, 28}, // The half octave above it has no more than the third
      {2, press, -5},  // … and that under it the fifth
  };
  for (size_t kind = 0; kind < 3; ++kind) {
    for (size_t key = 0; key < 3; ++key) {
      SrInstrument* const instrument = box(kind, key);
      for (int row = 1; row <= 2; ++row) {
        const int tonic = row == 1 ? boxes[key].palm : boxes[key].next;
        for (size_t i = 0; i < sizeof(scale) / sizeof(scale[0]); ++i) {
          assert_int_equal(along(instrument, row, scale[i].place, scale[i].direction),
                           tonic + scale[i].step);
        }
      }
      sr_instrument_del(instrument);
    }
  }
}

/// On such a row the press gives the tonic chord and nothing else, the draw the other four notes of
/// the scale; only the lowest draw of the lower row is its fifth, for a bass.
static void
press_is_the_tonic_chord(void** const state)
{
  (void)state;
  for (size_t kind = 0; kind < 3; ++kind) {
    for (size_t key = 0; key < 3; ++key) {
      SrInstrument* const instrument = box(kind, key);
      for (int row = 1; row <= 2; ++row) {
        const int tonic = row == 1 ? boxes[key].palm : boxes[key].next;
        for (int place = 1; place <= 10; ++place) {
          const int pressed = (along(instrument, row, place, SR_DIRECTION_PRESS) - tonic + 48) % 12;
          const int drawn = (along(instrument, row, place, SR_DIRECTION_DRAW) - tonic + 48) % 12;
          assert_true(pressed == 0 || pressed == 4 || pressed == 7);
          if (row == 2 && place == 1) {
            assert_int_equal(pressed, 0);
            assert_int_equal(drawn, 7);
          } else {
            assert_true(drawn == 2 || drawn == 5 || drawn == 9 || drawn == 11);
          }
        }
      }
      sr_instrument_del(instrument);
    }
  }
}

/// Rows of the C and G boxes, written as players do: press/draw from low to high.
static void
rows_as_players_write_them(void** const state)
{
  (void)state;
  static const struct {
    const char* layout;
    SrHand hand;
    int row;
    const char* notes;
  } rows[] = {
      {"30-c-g", SR_HAND_LEFT, 1, "B3/A3 D4/F#4 G4/A4 B4/C5 D5/E5"},
      {"30-c-g", SR_HAND_LEFT, 2, "C3/G3 G3/B3 C4/D4 E4/F4 G4/A4"},
      {"30-c-g", SR_HAND_LEFT, 3, "E3/F3 A3/Bb3 C#4/Eb4 A4/G4 G#4/Bb4"},
      {"30-c-g", SR_HAND_RIGHT, 1, "G5/F#5 B5/A5 D6/C6 G6/E6 B6/F#6"},
      {"30-c-g", SR_HAND_RIGHT, 2, "C5/B4 E5/D5 G5/F5 C6/A5 E6/B5"},
      {"30-c-g", SR_HAND_RIGHT, 3, "C#5/Eb5 A5/G5 G#5/Bb5 C#6/Eb6 A6/F6"},
      {"30-c-g-both", SR_HAND_LEFT, 3, "E3/F3 A3/Bb3 C#4/Eb4 A4/G4 G#4/Bb4"},
      {"30-c-g-both", SR_HAND_RIGHT, 3, "Eb5/C#5 C#5/Eb5 G#5/G5 C#6/Bb5 A6/D6"},
  };
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    SrInstrument* const instrument = shipped(rows[i].layout);
    char notes[128];
    snprintf(notes, sizeof(notes), "%s", rows[i].notes);
    char* rest = notes;
    for (int column = 1; column <= 5; ++column) {
      const char* const pressed = strsep(&rest, "/");
      const char* const drawn = strsep(&rest, " ");
      const SrButton* const button = at(instrument, rows[i].hand, rows[i].row, column);
      assert_int_equal(button->press_midi, midi_of(pressed));
      assert_int_equal(button->draw_midi, midi_of(drawn));
    }
    assert_null(rest);
    sr_instrument_del(instrument);
  }
}

static void
check_directions(const SrInstrument* const instrument, const char* const notes, const bool press,
                 const bool draw)
{
  char copy[256];
  snprintf(copy, sizeof(copy), "%s", notes);
  char* rest = copy;
  const char* name;
  while ((name = strsep(&rest, " "))) {
    if (sr_instrument_has(instrument, midi_of(name), SR_DIRECTION_PRESS) != press ||
        sr_instrument_has(instrument, midi_of(name), SR_DIRECTION_DRAW) != draw) {
      fail_msg("%s on %s", name, sr_instrument_name(instrument));
    }
  }
}

/// Which notes lie both ways, and which not: what makes a player cross the rows.
static void
notes_lie_both_ways_or_not(void** const state)
{
  (void)state;
  SrInstrument* const small = shipped("20-c-g");
  SrInstrument* const one = shipped("30-c-g");
  SrInstrument* const both = shipped("30-c-g-both");
  const SrInstrument* const all[] = {small, one, both};
  for (size_t i = 0; i < 3; ++i) {
    check_directions(all[i], "G3 B3 D4 B4 C5 D5 E5 B5 C6 E6", true, true);
    check_directions(all[i], "C4 E4", true, false);
    check_directions(all[i], "F4 F#4 F5 F#5", false, true);
  }
  check_directions(one, "A3 G4 A4 G5 A5", true, true);
  check_directions(both, "A3 G4 A4 G5", true, true);
  // Without the row of accidentals G is pressed and A drawn, wherever they lie
  check_directions(small, "G4 G5", true, false);
  check_directions(small, "A4 A5", false, true);
  check_directions(small, "C#4 Eb4 G#4 Bb4 C#5 Eb5 G#5 Bb5 C#6", false, false);
  // The two arrangements
  check_directions(one, "C#5 C#6 G#5", true, false);
  check_directions(one, "Eb5 Bb5 Eb6 F6", false, true);
  check_directions(both, "C#5 Eb5 D6", true, true);
  check_directions(both, "C#6 G#5", true, false);
  check_directions(both, "A5 Bb5", false, true);
  sr_instrument_del(small);
  sr_instrument_del(one);
  sr_instrument_del(both);
}

/// The thirty play in any key from A3 to D6, but have no G sharp under middle C.
static void
thirty_are_chromatic(void** const state)
{
  (void)state;
  static const char* const names[] = {"30-c-g", "30-c-g-both"};
  for (size_t i = 0; i < 2; ++i) {
    SrInstrument* const instrument = shipped(names[i]);
    for (int midi = midi_of("A3"); midi <= midi_of("D6"); ++midi) {
      assert_true(sr_instrument_has(instrument, midi, SR_DIRECTION_FREE));
    }
    check_directions(instrument, "G#3 F#3 C#3 D3", false, false);
    int lowest = 127;
    int highest = 0;
    for (size_t b = 0; b < sr_instrument_button_count(instrument); ++b) {
      const SrButton* const button = sr_instrument_button(instrument, b);
      lowest = button->press_midi < lowest ? button->press_midi : lowest;
      highest = button->press_midi > highest ? button->press_midi : highest;
    }
    assert_int_equal(lowest, midi_of("C3"));
    assert_int_equal(highest, midi_of("B6"));
    sr_instrument_del(instrument);
  }
}

/// Every button of `part` is in `whole` too, with the same notes and finger, unless it is of `but`.
static void
check_within(const SrInstrument* const part, const SrInstrument* const whole, const char* const but)
{
  for (size_t i = 0; i < sr_instrument_button_count(part); ++i) {
    const SrButton* const button = sr_instrument_button(part, i);
    const SrButton* const other = at(whole, button->hand, button->row, button->column);
    if (strncmp(button->name, but, strlen(but)) != 0 || !but[0]) {
      assert_int_equal(button->press_midi, other->press_midi);
      assert_int_equal(button->draw_midi, other->draw_midi);
    }
    assert_int_equal(button->finger, other->finger);
  }
}

/// The twenty are among the thirty, the arrangements differ in the right hand's third row alone,
/// and all of the thirty are among the 38.
static void
small_boxes_are_within_larger(void** const state)
{
  (void)state;
  for (size_t key = 0; key < 3; ++key) {
    SrInstrument* const twenty = box(0, key);
    SrInstrument* const one = box(1, key);
    SrInstrument* const both = box(2, key);
    check_within(twenty, one, "");
    check_within(twenty, both, "");
    check_within(one, both, "R3-");
    assert_int_not_equal(at(one, SR_HAND_RIGHT, 3, 1)->press_midi,
                         at(both, SR_HAND_RIGHT, 3, 1)->press_midi);
    sr_instrument_del(twenty);
    sr_instrument_del(one);
    sr_instrument_del(both);
  }
  SrInstrument* const both = shipped("30-c-g-both");
  SrInstrument* const large = shipped("38-c-g-example");
  check_within(both, large, "");
  sr_instrument_del(both);
  sr_instrument_del(large);
}

/// G and D sounds a fourth under C and G, B flat and F a tone, button for button.
static void
other_keys_are_transposed(void** const state)
{
  (void)state;
  for (size_t kind = 0; kind < 3; ++kind) {
    SrInstrument* const usual = box(kind, 0);
    for (size_t key = 1; key < 3; ++key) {
      SrInstrument* const other = box(kind, key);
      const size_t count = sr_instrument_button_count(usual);
      assert_int_equal(sr_instrument_button_count(other), count);
      for (size_t i = 0; i < count; ++i) {
        const SrButton* const button = sr_instrument_button(usual, i);
        const SrButton* const moved = sr_instrument_button(other, i);
        assert_string_equal(moved->name, button->name);
        assert_int_equal(moved->finger, button->finger);
        assert_int_equal(moved->press_midi, button->press_midi + boxes[key].shift);
        assert_int_equal(moved->draw_midi, button->draw_midi + boxes[key].shift);
      }
      sr_instrument_del(other);
    }
    sr_instrument_del(usual);
  }
}

/// Chords that players lean on, each in one direction.
static void
chords_lie_in_one_direction(void** const state)
{
  (void)state;
  static const struct {
    SrDirection direction;
    const char* notes;
  } chords[] = {
      {SR_DIRECTION_PRESS, "C4 E4 G4"}, {SR_DIRECTION_PRESS, "G3 B3 D4"},
      {SR_DIRECTION_DRAW, "D4 F#4 A4"}, {SR_DIRECTION_DRAW, "D4 F4 A4"},
      {SR_DIRECTION_DRAW, "G3 B3 D4"},
  };
  SrInstrument* const instrument = shipped("20-c-g");
  for (size_t i = 0; i < sizeof(chords) / sizeof(chords[0]); ++i) {
    char notes[64];
    snprintf(notes, sizeof(notes), "%s", chords[i].notes);
    char* rest = notes;
    const char* name;
    while ((name = strsep(&rest, " "))) {
      assert_true(sr_instrument_has(instrument, midi_of(name), chords[i].direction));
    }
  }
  sr_instrument_del(instrument);
}

int
main(const int count, char** const arguments)
{
  if (count < 3) {
    fputs("usage: test_shipped FOLDER LAYOUT…\n", stderr);
    return 1;
  }
  folder = arguments[1];
  paths = arguments + 2;
  path_count = (size_t)count - 2;
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_are_read),
      cmocka_unit_test(fingers_follow_the_columns),
      cmocka_unit_test(rows_in_turn_give_their_scale),
      cmocka_unit_test(press_is_the_tonic_chord),
      cmocka_unit_test(rows_as_players_write_them),
      cmocka_unit_test(notes_lie_both_ways_or_not),
      cmocka_unit_test(thirty_are_chromatic),
      cmocka_unit_test(small_boxes_are_within_larger),
      cmocka_unit_test(other_keys_are_transposed),
      cmocka_unit_test(chords_lie_in_one_direction),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
