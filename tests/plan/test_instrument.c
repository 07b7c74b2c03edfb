// SPDX-License-Identifier: GPL-3.0-or-later

// The layout reader: what the format's page promises, and each refusal. The first argument is
// that page, the second the folder of the shipped layouts.

#include <steadyreed/instrument.h>

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* page_path;
static const char* folder;

/// A layout with something of everything; each case changes one thing in it.
static const char base[] = "{\n"
                           "  \"format\": \"steadyreed-instrument\",\n"
                           "  \"version\": 1,\n"
                           "  \"title\": \"A small box\",\n"
                           "  \"left\": {\n"
                           "    \"fingers\": [\"ring\", \"middle\", \"index\"],\n"
                           "    \"row 1\": [{\"press\": \"B3\", \"draw\": \"A3\"}, null],\n"
                           "    \"row 2\": [null, {\"press\": \"C#4\", \"finger\": \"little\"},\n"
                           "              {\"draw\": \"Eb4\"}],\n"
                           "    \"extra\": [{\"name\": \"Thumb\", \"finger\": \"thumb\", "
                           "\"press\": \"C3\", \"draw\": \"C3\"}]\n"
                           "  },\n"
                           "  \"right\": {\n"
                           "    \"fingers\": [\"index\"],\n"
                           "    \"row 1\": [{\"press\": \"C5\", \"draw\": \"B4\"}],\n"
                           "    \"extra\": [{\"finger\": \"index\", \"press\": \"F5\"}]\n"
                           "  },\n"
                           "  \"air\": {\"hand\": \"right\", \"finger\": \"thumb\"}\n"
                           "}\n";

/// `text` with the first `from` in it replaced by `to`; free() it.
static char*
changed(const char* const text, const char* const from, const char* const to)
{
  const char* const place = strstr(text, from);
  if (!place) {
    fail_msg("\"%s\" is not in the text", from);
    return NULL;
  }
  char* result = NULL;
  assert_true(asprintf(&result, "%.*s%s%s", (int)(place - text), text, to, place + strlen(from)) >
              0);
  return result;
}

/// Read a text that is good.
static SrInstrument*
read_good(const char* const text)
{
  SrInstrument* instrument = NULL;
  SrError error = {0};
  if (sr_instrument_read_text(text, strlen(text), "good", &instrument, &error) != SR_OK) {
    fail_msg("%s\n%s", error.message, text);
  }
  assert_non_null(instrument);
  return instrument;
}

/// Read a text that is not; the error must name it. The caller looks at the rest.
static SrError
read_bad(const char* const text, const size_t size)
{
  // Not NULL, to see that it is made so
  SrInstrument* instrument = (SrInstrument*)&page_path;
  SrError error = {0};
  const SrStatus status = sr_instrument_read_text(text, size, "a/bad.json", &instrument, &error);
  if (status == SR_OK) {
    fail_msg("this was read:\n%s", text);
  }
  assert_null(instrument);
  assert_int_equal(status, error.status);
  assert_string_equal(error.file, "a/bad.json");
  return error;
}

static void
check_button(const SrInstrument* const instrument, const size_t index, const SrButton wanted)
{
  const SrButton* const button = sr_instrument_button(instrument, index);
  assert_int_equal(button->hand, wanted.hand);
  assert_int_equal(button->row, wanted.row);
  assert_int_equal(button->column, wanted.column);
  assert_int_equal(button->finger, wanted.finger);
  assert_int_equal(button->press_midi, wanted.press_midi);
  assert_int_equal(button->draw_midi, wanted.draw_midi);
  assert_string_equal(button->name, wanted.name);
  assert_int_equal(sr_instrument_midi(instrument, index, SR_DIRECTION_PRESS), wanted.press_midi);
  assert_int_equal(sr_instrument_midi(instrument, index, SR_DIRECTION_DRAW), wanted.draw_midi);
  assert_int_equal(sr_instrument_find(instrument, wanted.name), index);
}

static void
all_of_a_layout_is_read(void** const state)
{
  (void)state;
  static const SrButton wanted[] = {
      {SR_HAND_LEFT, 1, 1, SR_FINGER_RING, 59, 57, "L1-1"},
      {SR_HAND_LEFT, 2, 2, SR_FINGER_LITTLE, 61, -1, "L2-2"},
      {SR_HAND_LEFT, 2, 3, SR_FINGER_INDEX, -1, 63, "L2-3"},
      {SR_HAND_LEFT, 0, 1, SR_FINGER_THUMB, 48, 48, "Thumb"},
      {SR_HAND_RIGHT, 1, 1, SR_FINGER_INDEX, 72, 71, "R1-1"},
      {SR_HAND_RIGHT, 0, 1, SR_FINGER_INDEX, 77, -1, "R0-1"},
  };
  SrInstrument* const instrument = read_good(base);
  assert_string_equal(sr_instrument_title(instrument), "A small box");
  assert_string_equal(sr_instrument_name(instrument), "good");
  assert_int_equal(sr_instrument_air_hand(instrument), SR_HAND_RIGHT);
  assert_int_equal(sr_instrument_air_finger(instrument), SR_FINGER_THUMB);
  assert_int_equal(sr_instrument_button_count(instrument), 6);
  for (size_t i = 0; i < 6; ++i) {
    check_button(instrument, i, wanted[i]);
  }
  assert_int_equal(sr_instrument_find(instrument, "l2-3"), 2);
  assert_int_equal(sr_instrument_find(instrument, "THUMB"), 3);
  assert_int_equal(sr_instrument_find(instrument, "L1-2"), 6);
  assert_int_equal(sr_instrument_find(instrument, ""), 6);
  sr_instrument_del(instrument);
  sr_instrument_del(NULL);
}

static void
pitches_are_found_by_direction(void** const state)
{
  (void)state;
  SrInstrument* const instrument = read_good(base);
  static const struct {
    int midi;
    bool press, draw;
  } wanted[] = {{59, true, false},  {57, false, true}, {48, true, true},
                {60, false, false}, {63, false, true}, {-1, false, false}};
  for (size_t i = 0; i < sizeof(wanted) / sizeof(wanted[0]); ++i) {
    const int midi = wanted[i].midi;
    assert_int_equal(sr_instrument_has(instrument, midi, SR_DIRECTION_PRESS), wanted[i].press);
    assert_int_equal(sr_instrument_has(instrument, midi, SR_DIRECTION_DRAW), wanted[i].draw);
    assert_int_equal(sr_instrument_has(instrument, midi, SR_DIRECTION_FREE),
                     wanted[i].press || wanted[i].draw);
  }
  sr_instrument_del(instrument);
}

/// What may stand in a layout besides what the base has.
static void
these_are_good(void** const state)
{
  (void)state;
  static const struct {
    const char* from;
    const char* to;
    const char* button; ///< To look at
    int press, draw;
  } cases[] = {
      {"\"C#4\"", "\"C\u266F4\"", "L2-2", 61, -1},
      {"\"Eb4\"", "\"E\u266D4\"", "L2-3", -1, 63},
      // An octave belongs to its letter
      {"\"B3\"", "\"Cb4\"", "L1-1", 59, 57},
      {"\"B3\"", "\"B#3\"", "L1-1", 60, 57},
      {"\"B3\"", "\"C1\"", "L1-1", 24, 57},
      {"\"B3\"", "\"C9\"", "L1-1", 120, 57},
      {"\"B3\"", "null", "L1-1", -1, 57},
      {"\"press\": \"B3\"", "\"press\": \"B3\", \"remark\": \"slow\"", "L1-1", 59, 57},
      {"\"name\": \"Thumb\", ", "", "L0-1", 48, 48},
      {"\"Thumb\"", "\"a23456789-_2345\"", "a23456789-_2345", 48, 48},
      {"{\n", "\xEF\xBB\xBF{\n", "L1-1", 59, 57},
      {"  \"version\"", "  \"remark\": \"\u00E4\\n\", \"version\"", "L1-1", 59, 57},
      {", null],", ", {\"press\": \"D4\"}, null, null],", "L1-2", 62, -1},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char* const text = changed(base, cases[i].from, cases[i].to);
    SrInstrument* const instrument = read_good(text);
    const size_t button = sr_instrument_find(instrument, cases[i].button);
    assert_true(button < sr_instrument_button_count(instrument));
    assert_int_equal(sr_instrument_button(instrument, button)->press_midi, cases[i].press);
    assert_int_equal(sr_instrument_button(instrument, button)->draw_midi, cases[i].draw);
    sr_instrument_del(instrument);
    free(text);
  }
}

/// One side is enough, with extra buttons alone too.
static void
a_side_may_be_missing(void** const state)
{
  (void)state;
  static const char one[] = "{\"air\": {\"finger\": \"index\", \"hand\": \"left\"}, \"right\": "
                            "{\"extra\": [{\"draw\": \"A4\", \"finger\": \"ring\"}]}, \"title\": "
                            "\"x\", \"version\": 1, \"format\": \"steadyreed-instrument\"}";
  SrInstrument* const instrument = read_good(one);
  assert_int_equal(sr_instrument_button_count(instrument), 1);
  check_button(instrument, 0, (SrButton){SR_HAND_RIGHT, 0, 1, SR_FINGER_RING, -1, 69, "R0-1"});
  assert_int_equal(sr_instrument_air_hand(instrument), SR_HAND_LEFT);
  assert_int_equal(sr_instrument_air_finger(instrument), SR_FINGER_INDEX);
  sr_instrument_del(instrument);
}

typedef struct {
  const char* from;
  const char* to;
  const char* message; ///< How it begins
  const char* also;    ///< What is in it
} Refusal;

static void
each_is_refused_with_its_place(void** const state)
{
  (void)state;
  static const char no_finger[] = "a finger is \"thumb\", \"index\"";
  static const Refusal cases[] = {
      // Notes
      {"\"B3\"", "\"H4\"", "left row 1, button 1: press \"H4\" is not a note; write C4, F#4 or Bb4",
       ""},
      {"\"Eb4\"", "\"eb4\"", "left row 2, button 3: draw \"eb4\" is not a note", ""},
      {"\"B3\"", "\"B\"", "left row 1, button 1: press \"B\" is not a note", ""},
      {"\"B3\"", "\"\"", "left row 1, button 1: press \"\" is not a note", ""},
      {"\"B3\"", "\"B10\"", "left row 1, button 1: press \"B10\" is not a note", ""},
      {"\"B3\"", "\"B-2\"", "left row 1, button 1: press \"B-2\" is not a note", ""},
      {"\"B3\"", "\"B3 \"", "left row 1, button 1: press \"B3 \" is not a note", ""},
      {"\"B3\"", "\"Bbb3\"", "left row 1, button 1: press \"Bbb3\" is not a note", ""},
      {"\"B3\"", "\"^F\"", "left row 1, button 1: press \"^F\" is not a note", ""},
      {"\"B3\"", "\"B\\n3\"", "left row 1, button 1: press \"B?3\" is not a note", ""},
      {"\"B3\"", "\"\\u009b3\"", "left row 1, button 1: press \"?3\" is not a note", ""},
      {"\"B3\"", "\"B0\"", "left row 1, button 1: press \"B0\" is out of range", "C1 to C9"},
      {"\"B3\"", "\"C#9\"", "left row 1, button 1: press \"C#9\" is out of range", "C1 to C9"},
      {"\"B3\"", "\"C-1\"", "left row 1, button 1: press \"C-1\" is out of range", "C1 to C9"},
      {"\"B3\"", "\"Cb-1\"", "left row 1, button 1: press \"Cb-1\" is out of range", "C1 to C9"},
      {"\"B3\"", "60", "left row 1, button 1: press takes a note in quotes", ""},
      {"\"B3\"", "[\"B3\"]", "left row 1, button 1: press takes a note in quotes", ""},
      {"\"draw\": \"Eb4\"", "", "left row 2, button 3: it has no note", ""},
      {"\"draw\": \"Eb4\"", "\"draw\": null, \"press\": null",
       "left row 2, button 3: it has no note", ""},
      {"\"press\": \"F5\"", "\"press\": null", "right extra button 1: it has no note", ""},
      // Buttons
      {"{\"draw\": \"Eb4\"}", "\"Eb4\"", "left row 2, button 3: write it as {\"press\"", "null"},
      {"{\"draw\": \"Eb4\"}", "[]", "left row 2, button 3: write it as {\"press\"", "null"},
      {"{\"finger\": \"index\", \"press\": \"F5\"}", "null", "right extra button 1: write it as",
       "\"finger\""},
      {"{\"finger\": \"index\", \"press\": \"F5\"}", "3", "right extra button 1: write it as",
       "\"finger\""},
      {"\"press\": \"B3\"", "\"pres\": \"B3\"",
       "left row 1, button 1: there is no key \"pres\" here; there are \"press\", \"draw\", "
       "\"finger\" and \"remark\".",
       ""},
      {"\"press\": \"B3\"", "\"Press\": \"B3\"", "left row 1, button 1: there is no key \"Press\"",
       ""},
      {"\"press\": \"B3\"", "\"name\": \"low\"", "left row 1, button 1: there is no key \"name\"",
       ""},
      {"\"press\": \"F5\"", "\"push\": \"F5\"", "right extra button 1: there is no key \"push\"",
       "\"name\""},
      {"\"press\": \"B3\"", "\"press\": \"B3\", \"remark\": 3",
       "left row 1, button 1: \"remark\" takes a text", ""},
      {"\"press\": \"B3\"",
       "\"\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F"
       "\u266F"
       "\u266F\": 1",
       "left row 1, button 1: there is no key "
       "\"\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F\u266F"
       "\u266F\"",
       ""},
      // Fingers
      {"\"finger\": \"little\"", "\"finger\": \"pinky\"", "left row 2, button 2: a finger is", ""},
      {"\"finger\": \"little\"", "\"finger\": null", "left row 2, button 2: a finger is", ""},
      {"\"finger\": \"little\"", "\"finger\": 4", "left row 2, button 2: a finger is", ""},
      {"\"ring\", \"middle\", \"index\"", "\"ring\", \"middle\"",
       "left row 2, button 3: this column has no finger", "\"fingers\""},
      {"\"fingers\": [\"index\"],", "", "right row 1, button 1: this column has no finger",
       "\"fingers\""},
      {"\"finger\": \"index\", ", "", "right extra button 1: it has no finger", ""},
      {"\"ring\", \"middle\", \"index\"", "\"ring\", \"Middle\", \"index\"",
       "left fingers, column 2: a finger is", ""},
      {"\"ring\", \"middle\", \"index\"", "\"ring\", \"middle\", 2",
       "left fingers, column 3: a finger is", ""},
      {"[\"index\"]", "\"index\"", "right fingers: write them as a list", ""},
      {"[\"index\"]", "null", "right fingers: write them as a list", ""},
      // Rows and sides
      {"[{\"press\": \"C5\", \"draw\": \"B4\"}]", "[]", "right row 1: it has no buttons", ""},
      {"[{\"press\": \"C5\", \"draw\": \"B4\"}]", "[null, null]", "right row 1: it has no buttons",
       ""},
      {"[{\"press\": \"C5\", \"draw\": \"B4\"}]", "{\"press\": \"C5\", \"draw\": \"B4\"}",
       "right row 1: write it as a list", ""},
      {"[{\"finger\": \"index\", \"press\": \"F5\"}]", "null", "right extra: write it as a list",
       ""},
      {"\"row 1\"", "\"row 3\"", "left: there is a row 2 but no row 1", "from the palm"},
      {"\"row 2\"", "\"row 3\"", "left: there is a row 3 but no row 2", "from the palm"},
      {"\"row 2\"", "\"row 7\"", "left: there is no key \"row 7\"", "\"row 6\", \"extra\""},
      {"\"row 2\"", "\"row 0\"", "left: there is no key \"row 0\"", "\"row 6\", \"extra\""},
      {"\"row 2\"", "\"row2\"", "left: there is no key \"row2\"", "\"fingers\", \"row 1\""},
      {"\"right\": {", "\"right\": {}, \"wrong\": {", "there is no key \"wrong\" here",
       "\"left\", \"right\", \"air\" and \"remark\""},
      {"\"name\": \"Thumb\"", "\"name\": \"R1-1\"", "Two buttons are called \"R1-1\"", ""},
      {"\"name\": \"Thumb\"", "\"name\": \"l2-3\"", "Two buttons are called \"l2-3\"", ""},
      {"\"name\": \"Thumb\"", "\"name\": \"r0-1\"", "Two buttons are called \"R0-1\"", ""},
      {"\"name\": \"Thumb\"", "\"name\": \"\"", "left extra button 1: a name begins", ""},
      {"\"name\": \"Thumb\"", "\"name\": \"3rd\"", "left extra button 1: a name begins", ""},
      {"\"name\": \"Thumb\"", "\"name\": \"a b\"", "left extra button 1: a name begins", ""},
      {"\"name\": \"Thumb\"", "\"name\": \"\u00E4\"", "left extra button 1: a name begins", ""},
      {"\"name\": \"Thumb\"", "\"name\": \"a234567890123456\"",
       "left extra button 1: a name begins", ""},
      {"\"name\": \"Thumb\"", "\"name\": null", "left extra button 1: a name begins", ""},
      // The air button
      {"{\"hand\": \"right\", \"finger\": \"thumb\"}", "null", "air: say where the air button is",
       ""},
      {"{\"hand\": \"right\", \"finger\": \"thumb\"}", "\"right\"", "air: say where", ""},
      {",\n  \"air\": {\"hand\": \"right\", \"finger\": \"thumb\"}", "", "air: say where", ""},
      {"\"hand\": \"right\"", "\"hand\": \"both\"", "air: its hand is \"left\" or \"right\"", ""},
      {"\"hand\": \"right\", ", "", "air: its hand is", ""},
      {"\"hand\": \"right\", \"finger\": \"thumb\"", "\"hand\": \"right\"", "air: a finger is",
       no_finger},
      {"\"hand\": \"right\"", "\"hand\": \"right\", \"row\": 1", "air: there is no key \"row\"",
       "\"hand\", \"finger\" and \"remark\""},
      // The head
      {"\"title\": \"A small box\",", "", "title: give the layout a title", ""},
      {"\"A small box\"", "\"\"", "title: give the layout a title", ""},
      {"\"A small box\"", "7", "title: give the layout a title", ""},
      {"\"A small box\"", "\"two\\nlines\"", "title: give the layout a title", "one line"},
      {"\"A small box\"", "\"\\u007f\"", "title: give the layout a title", ""},
      {"\"A small box\"",
       "\"123456789 123456789 123456789 123456789 123456789 123456789 123456789 123456789 "
       "123456789 123456789 123456789 123456789 12345678\"",
       "title: give the layout a title", "127 bytes"},
      {"\"steadyreed-instrument\"", "\"steadyreed-setup\"", "This is not an instrument layout", ""},
      {"\"steadyreed-instrument\"", "1", "This is not an instrument layout", ""},
      {"\"version\": 1,", "", "The layout needs \"version\": 1", ""},
      {"\"version\": 1,", "\"version\": 0,", "The layout needs \"version\": 1", ""},
      {"\"version\": 1,", "\"version\": \"1\",", "The layout needs \"version\": 1", ""},
      {"\"version\": 1,", "\"version\": 1.0,", "The layout needs \"version\": 1", ""},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char* const text = changed(base, cases[i].from, cases[i].to);
    const SrError error = read_bad(text, strlen(text));
    if (strncmp(error.message, cases[i].message, strlen(cases[i].message)) != 0 ||
        !strstr(error.message, cases[i].also)) {
      fail_msg("\"%s\" for \"%s\"", error.message, cases[i].to);
    }
    assert_int_equal(error.status, SR_BAD_SYNTAX);
    // A place in words instead
    assert_int_equal(error.line, 0);
    free(text);
  }
}

static void
these_are_refused_too(void** const state)
{
  (void)state;
  static const struct {
    const char* text;
    const char* message;
  } cases[] = {
      {"[]", "This is not an instrument layout"},
      {"{}", "This is not an instrument layout"},
      {"{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"x\", \"air\": "
       "{\"hand\": \"left\", \"finger\": \"thumb\"}}",
       "The layout has no buttons"},
      {"{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"x\", \"left\": {}}",
       "left: there are no buttons"},
      {"{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"x\", \"left\": "
       "{\"extra\": []}}",
       "left: there are no buttons"},
      {"{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"x\", \"left\": null}",
       "left: write the side as"},
      {"{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"x\", \"right\": []}",
       "right: write the side as"},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const SrError error = read_bad(cases[i].text, strlen(cases[i].text));
    if (strncmp(error.message, cases[i].message, strlen(cases[i].message)) != 0) {
      fail_msg("\"%s\" for \"%s\"", error.message, cases[i].text);
    }
    assert_int_equal(error.status, SR_BAD_SYNTAX);
  }
  char* const later = changed(base, "\"version\": 1", "\"version\": 2, \"new\": 1");
  const SrError error = read_bad(later, strlen(later));
  assert_int_equal(error.status, SR_UNSUPPORTED);
  assert_non_null(strstr(error.message, "version 2"));
  free(later);
}

/// Lines are counted from 1 and columns in characters, at the end of what is wrong.
static void
syntax_errors_have_line_and_column(void** const state)
{
  (void)state;
  static const struct {
    const char* from;
    const char* to;
    const char* message;
    unsigned line, column;
  } cases[] = {
      // A comma too few is seen at the next word
      {"\"version\": 1,", "\"version\": 1", "A comma", 4, 9},
      {"\"title\"", "title", "A comma", 4, 7},
      {"\"right\": {", "\"right\": {{", "A comma", 12, 13},
      {"null],", "null,],", "A comma", 7, 51},
      {"\"A small box\"", "\"\u266F\u266D\" x", "A comma", 4, 17},
      {"\"version\": 1,", "\"version\": 1, \"version\": 1,", "same key appears twice", 3, 25},
      {"\"draw\": \"A3\"", "\"press\": \"A3\"", "same key appears twice", 7, 37},
      {"}\n}\n", "}\n", "ends too early", 18, 0},
      {"}\n}\n", "}\n} x", "after the last }", 18, 3},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char* const text = changed(base, cases[i].from, cases[i].to);
    const SrError error = read_bad(text, strlen(text));
    if (!strstr(error.message, cases[i].message) || error.line != cases[i].line ||
        error.column != cases[i].column) {
      print_error("case %zu: %u:%u: %s\n", i, error.line, error.column, error.message);
    }
    assert_int_equal(error.status, SR_BAD_SYNTAX);
    assert_non_null(strstr(error.message, cases[i].message));
    assert_int_equal(error.line, cases[i].line);
    assert_int_equal(error.column, cases[i].column);
    free(text);
  }
  assert_non_null(strstr(read_bad("", 0).message, "ends too early"));
  assert_non_null(strstr(read_bad("{\"a\xFF\": 1}", 9).message, "not UTF-8"));
  assert_non_null(strstr(read_bad("{\"a\": \"\\u0000\"}", 15).message, "NUL"));
  assert_non_null(strstr(read_bad("{\"\\u0000\": 1}", 13).message, "NUL"));
  static char deep[5000];
  memset(deep, '[', sizeof(deep));
  assert_non_null(strstr(read_bad(deep, sizeof(deep)).message, "too many brackets"));
}

/// A row of `count` buttons; free() it.
static char*
buttons(const size_t count)
{
  char* const text = calloc(1, 32 * count + 3);
  assert_non_null(text);
  char* end = text;
  *end++ = '[';
  for (size_t i = 0; i < count; ++i) {
    end += sprintf(end, "%s{\"press\":\"C4\",\"finger\":\"ring\"}", i ? "," : "");
  }
  *end = ']';
  return text;
}

/// A layout of `rows` rows of `columns` buttons on each side, and `extra` buttons on the left.
static char*
wide(const size_t rows, const size_t columns, const size_t extra)
{
  char* const row = buttons(columns);
  char* const more = buttons(extra);
  char* text = calloc(1, 1u << 20u);
  assert_non_null(text);
  char* end = text + sprintf(text, "{\"format\":\"steadyreed-instrument\",\"version\":1,\"title\":"
                                   "\"x\",\"air\":{\"hand\":\"left\",\"finger\":\"thumb\"}");
  for (size_t side = 0; side < 2; ++side) {
    end += sprintf(end, ",\"%s\":{\"remark\":\"\"", side ? "right" : "left");
    for (size_t i = 0; i < rows; ++i) {
      end += sprintf(end, ",\"row %zu\":%s", i + 1, row);
    }
    end += side ? 0 : sprintf(end, ",\"extra\":%s", more);
    end += sprintf(end, "}");
  }
  sprintf(end, "}");
  free(row);
  free(more);
  return text;
}

static void
limits_are_reported(void** const state)
{
  (void)state;
  static const struct {
    size_t rows, columns, extra;
    const char* message; ///< NULL if it is within
  } cases[] = {
      {4, SR_MOST_COLUMNS, 0, NULL},
      {4, SR_MOST_COLUMNS, 1, "right row 4, button 16: a layout has 128 buttons at most"},
      {SR_MOST_ROWS, 8, SR_MOST_COLUMNS, NULL},
      {1, SR_MOST_COLUMNS + 1, 0, "left row 1: a row has 16 columns at most"},
      {1, 1, SR_MOST_COLUMNS + 1, "left extra: a side has 16 extra buttons at most"},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char* const text = wide(cases[i].rows, cases[i].columns, cases[i].extra);
    if (cases[i].message) {
      const SrError error = read_bad(text, strlen(text));
      assert_int_equal(error.status, SR_TOO_LARGE);
      assert_int_equal(strncmp(error.message, cases[i].message, strlen(cases[i].message)), 0);
    } else {
      SrInstrument* const instrument = read_good(text);
      assert_int_equal(sr_instrument_button_count(instrument),
                       2 * cases[i].rows * cases[i].columns + cases[i].extra);
      sr_instrument_del(instrument);
    }
    free(text);
  }
  char* const fingers =
      changed(base, "[\"index\"]",
              "[\"ring\",\"ring\",\"ring\",\"ring\",\"ring\",\"ring\",\"ring\",\"ring\",\"ring\","
              "\"ring\",\"ring\",\"ring\",\"ring\",\"ring\",\"ring\",\"ring\",\"ring\"]");
  const SrError error = read_bad(fingers, strlen(fingers));
  assert_int_equal(error.status, SR_TOO_LARGE);
  assert_non_null(strstr(error.message, "right fingers: a row has 16 columns"));
  free(fingers);
  // A text of exactly the most bytes is read, one more is not
  char* const large = calloc(1, SR_INSTRUMENT_MOST_BYTES + 2);
  assert_non_null(large);
  memset(large, ' ', SR_INSTRUMENT_MOST_BYTES + 1);
  memcpy(large, base, sizeof(base) - 1);
  SrInstrument* instrument = NULL;
  assert_int_equal(
      sr_instrument_read_text(large, SR_INSTRUMENT_MOST_BYTES, "large", &instrument, NULL), SR_OK);
  sr_instrument_del(instrument);
  assert_int_equal(read_bad(large, SR_INSTRUMENT_MOST_BYTES + 1).status, SR_TOO_LARGE);
  free(large);
}

/// Cut off anywhere, a text is refused, without an error to fill too.
static void
no_half_is_read(void** const state)
{
  (void)state;
  for (size_t size = 0; size + 2 < strlen(base); ++size) {
    assert_int_equal(read_bad(base, size).status, SR_BAD_SYNTAX);
    SrInstrument* instrument = NULL;
    assert_int_equal(sr_instrument_read_text(base, size, "x", &instrument, NULL), SR_BAD_SYNTAX);
  }
}

static char*
file_in(const char* const place, const char* const name, const char* const text, const size_t size)
{
  char* path = NULL;
  assert_true(asprintf(&path, "%s/%s", place, name) > 0);
  FILE* const file = fopen(path, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(text, 1, size, file), size);
  fclose(file);
  return path;
}

static void
files_are_read_and_named(void** const state)
{
  (void)state;
  char place[] = "/tmp/steadyreed-test-XXXXXX";
  assert_non_null(mkdtemp(place));
  static const struct {
    const char* file;
    const char* name;
  } names[] = {{"mine.json", "mine"},
               {"my box.JSON", "my box"},
               {"no-ending", "no-ending"},
               {".json", ".json"},
               {"B\u266D.json", "B\u266D"},
               {"odd\xFF.json", "layout"},
               {"a\nb.json", "a?b"},
               {"a123456789-123456789-123456789-123456789-123456789-123456789-123456789.json",
                "a123456789-123456789-123456789-123456789-123456789-123456789-12"}};
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    char* const path = file_in(place, names[i].file, base, strlen(base));
    SrInstrument* instrument = NULL;
    assert_int_equal(sr_instrument_read_file(path, &instrument, NULL), SR_OK);
    assert_string_equal(sr_instrument_name(instrument), names[i].name);
    assert_int_equal(sr_instrument_button_count(instrument), 6);
    sr_instrument_del(instrument);
    unlink(path);
    free(path);
  }
  SrInstrument* instrument = NULL;
  SrError error = {0};
  assert_int_equal(sr_instrument_read_file("/nowhere/x.json", &instrument, &error), SR_NOT_FOUND);
  assert_string_equal(error.file, "/nowhere/x.json");
  assert_int_equal(sr_instrument_read_file(place, &instrument, &error), SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "folder"));
  char* const large = calloc(1, SR_INSTRUMENT_MOST_BYTES + 1);
  assert_non_null(large);
  memset(large, ' ', SR_INSTRUMENT_MOST_BYTES + 1);
  char* const path = file_in(place, "large.json", large, SR_INSTRUMENT_MOST_BYTES + 1);
  assert_int_equal(sr_instrument_read_file(path, &instrument, &error), SR_TOO_LARGE);
  assert_string_equal(error.file, path);
  assert_int_equal(chmod(path, 0), 0);
  // The superuser may read it all the same
  assert_int_equal(sr_instrument_read_file(path, &instrument, &error),
                   geteuid() == 0 ? SR_TOO_LARGE : SR_NO_PERMISSION);
  assert_null(instrument);
  unlink(path);
  free(path);
  free(large);
  rmdir(place);
}

/// The example of the format's page is what the page says of it.
static void
the_example_of_the_page_is_good(void** const state)
{
  (void)state;
  FILE* const file = fopen(page_path, "rb");
  assert_non_null(file);
  static char page[65536];
  page[fread(page, 1, sizeof(page) - 1, file)] = '\0';
  fclose(file);
  char* const example = strstr(page, "```json\n");
  assert_non_null(example);
  char* const end = strstr(example + 8, "\n```");
  assert_non_null(end);
  end[1] = '\0';
  SrInstrument* const instrument = read_good(example + 8);
  assert_string_equal(sr_instrument_title(instrument), "6 buttons and a drone, C and G");
  assert_int_equal(sr_instrument_button_count(instrument), 7);
  const size_t overridden = sr_instrument_find(instrument, "L1-3");
  assert_int_equal(sr_instrument_button(instrument, overridden)->finger, SR_FINGER_MIDDLE);
  assert_int_equal(sr_instrument_find(instrument, "drone"), 4);
  assert_int_equal(sr_instrument_find(instrument, "L1-2"), 7);
  sr_instrument_del(instrument);
}

/// What the page says a player does: a shipped layout with one button changed.
static void
one_button_is_changed_by_hand(void** const state)
{
  (void)state;
  char* path = NULL;
  assert_true(asprintf(&path, "%s/30-c-g.json", folder) > 0);
  FILE* const file = fopen(path, "rb");
  assert_non_null(file);
  static char text[65536];
  text[fread(text, 1, sizeof(text) - 1, file)] = '\0';
  fclose(file);
  SrInstrument* const before = read_good(text);
  char* const own = changed(text, "{\"press\": \"A6\", \"draw\": \"F6\"}", "{\"press\": \"A6\"}");
  SrInstrument* const after = read_good(own);
  const size_t count = sr_instrument_button_count(before);
  assert_int_equal(sr_instrument_button_count(after), count);
  for (size_t i = 0; i < count; ++i) {
    SrButton wanted = *sr_instrument_button(before, i);
    wanted.draw_midi = strcmp(wanted.name, "R3-5") != 0 ? wanted.draw_midi : -1;
    check_button(after, i, wanted);
  }
  sr_instrument_del(before);
  sr_instrument_del(after);
  free(own);
  free(path);
}

int
main(const int count, char** const arguments)
{
  if (count < 3) {
    fputs("usage: test_instrument PAGE FOLDER\n", stderr);
    return 1;
  }
  page_path = arguments[1];
  folder = arguments[2];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_of_a_layout_is_read),
      cmocka_unit_test(pitches_are_found_by_direction),
      cmocka_unit_test(these_are_good),
      cmocka_unit_test(a_side_may_be_missing),
      cmocka_unit_test(each_is_refused_with_its_place),
      cmocka_unit_test(these_are_refused_too),
      cmocka_unit_test(syntax_errors_have_line_and_column),
      cmocka_unit_test(limits_are_reported),
      cmocka_unit_test(no_half_is_read),
      cmocka_unit_test(files_are_read_and_named),
      cmocka_unit_test(the_example_of_the_page_is_good),
      cmocka_unit_test(one_button_is_changed_by_hand),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
