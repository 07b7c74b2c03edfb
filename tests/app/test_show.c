// SPDX-License-Identifier: GPL-3.0-or-later

// What an assessment looks like as text, JSON and CSV. The assessment is filled
// by hand, so that every verdict is in it.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "assessment_schema.h"

#include <steadyreed/show.h>

#include <jansson.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NAN_D ((double)NAN)

static SrNoteVerdict notes[8];
static SrInsertion extra[1];
static SrSlip slips[2];
static char advice_line[] = "bar 2, cut joined: you held on to the second A; lift the second A as "
                            "the cutting finger flicks";
static char* advice[] = {advice_line};
static SrRound rounds[1];
static char title[] = "The Lamp in the Porch, \"slow\"";
static char path[] = "tuesday.wav";
static SrAssessment assessment;

static SrNoteVerdict
played(const size_t index, const int bar, const int midi)
{
  const double due_s = 0.5 + 0.2 * (double)index;
  SrNoteVerdict note = {0};
  note.index = index;
  note.bar = bar;
  note.midi = midi;
  note.status = SR_NOTE_PLAYED;
  note.heard_midi = midi;
  note.due_s = due_s;
  note.onset_s = due_s + 0.002;
  note.end_s = due_s + 0.18;
  note.offset_ms = 2.0;
  note.cents = -3.25;
  note.level_db = -21.5;
  note.joined = SR_NOT_ASKED;
  note.cut = (SrCut){SR_CUT_CLEAN, NAN_D, NAN_D, -1, NAN_D};
  return note;
}

static void
fill(void)
{
  for (size_t i = 0; i < 8; ++i) {
    notes[i] = played(i, i < 4 ? 1 : 2, 69);
  }
  notes[1].joined = SR_NO;
  notes[1].has_cut = true;
  notes[1].cut = (SrCut){SR_CUT_CLEAN, notes[1].onset_s, 41.23456, 73, 28.0};
  notes[2].joined = SR_YES;
  notes[2].has_cut = true;
  notes[2].cut = (SrCut){SR_CUT_JOINED, notes[2].due_s, 38.0, 73, 2.5};
  notes[2].onset_s = NAN_D;
  notes[2].offset_ms = NAN_D;
  notes[3].status = SR_NOTE_MISSED;
  notes[3].heard_midi = -1;
  notes[3].onset_s = NAN_D;
  notes[3].end_s = NAN_D;
  notes[3].offset_ms = NAN_D;
  notes[3].cents = NAN_D;
  notes[3].level_db = NAN_D;
  notes[4].status = SR_NOTE_WRONG;
  notes[4].heard_midi = 67;
  notes[5].joined = SR_NO;
  notes[5].has_cut = true;
  notes[5].cut = (SrCut){SR_CUT_LONG, notes[5].onset_s, 110.0, 73, 30.0};
  notes[6].offset_ms = 44.0;
  notes[7].joined = SR_NO;
  notes[7].has_cut = true;
  notes[7].cut = (SrCut){SR_CUT_ABSENT, NAN_D, NAN_D, -1, 35.0};

  extra[0] = (SrInsertion){1.45, 1.5, 71};
  slips[0] = (SrSlip){SR_SLIP_HESITATION, 1.3, 4, 2, 0.45, 0, 0, 0.0};
  slips[1] = (SrSlip){SR_SLIP_RESTART, 1.7, 6, 2, NAN_D, 0, 0, 0.0};

  rounds[0] = (SrRound){0};
  rounds[0].start_s = 0.5;
  rounds[0].end_s = 2.1;
  rounds[0].pulse = (SrPulse){.unit = {3, 8},
                              .target_bpm = NAN_D,
                              .played_bpm = 99.96,
                              .drift_percent = -3.5,
                              .first_bpm = 101.7,
                              .last_bpm = 98.2,
                              .change_percent = 3.6,
                              .jump_note = 8,
                              .mean_offset_ms = NAN_D,
                              .left_pulses = NAN_D,
                              .left_percent = NAN_D,
                              .spread_ms = 12.345,
                              .npvi = 20.2,
                              .lilt_count = 3,
                              .lilt = {1.12, 0.95, 0.93}};
  rounds[0].notes = notes;
  rounds[0].note_count = 8;
  rounds[0].insertions = extra;
  rounds[0].insertion_count = 1;
  rounds[0].slips = slips;
  rounds[0].slip_count = 2;
  static SrAlone alone[] = {{{1.0, 2.0, 4}, -35.2, -30.0, 1.23},
                            {{3.0, 4.0, 1}, NAN_D, -12.0, -0.5}};
  rounds[0].alone = alone;
  rounds[0].alone_count = 2;
  rounds[0].asked = (SrAmounts){7, 5, 0};
  rounds[0].judged = (SrAmounts){6, 4, 0};
  rounds[0].scores = (SrScores){20.0, 81.25, NAN_D};
  rounds[0].advice = advice;
  rounds[0].advice_count = 1;

  assessment = (SrAssessment){0};
  assessment.title = title;
  assessment.first_bar = 1;
  assessment.last_bar = 2;
  assessment.phrase_notes = 8;
  assessment.click_s = NAN_D;
  assessment.path = path;
  assessment.take = (SrTakeFacts){path, 2.5, 44100.0, -(double)INFINITY, 7};
  assessment.reference_hz = 441.2345;
  assessment.rounds = rounds;
  assessment.round_count = 1;
}

static const char* const remarks[] = {"the recording is overdriven.", "it breaks off."};

static SrShownTake
shown_take(void)
{
  fill();
  const SrShownTake take = {path, NULL, &assessment, NULL, remarks, 2};
  return take;
}

static char*
text_of(const SrShownTake* const take, const SrShowStyle* const style)
{
  static char* text; // static, since open_memstream() keeps its address
  static size_t size;
  FILE* const stream = open_memstream(&text, &size);
  sr_show_text(stream, take, style);
  fclose(stream);
  return text;
}

/// Put each broken line back on one.
static void
unwrap(char* const text)
{
  char* to = text;
  for (const char* from = text; *from; ++from) {
    const bool space = *from == ' ' || *from == '\n';
    if (!space || to == text || to[-1] != ' ') {
      *to++ = space ? ' ' : *from;
    }
  }
  *to = '\0';
}

static char*
json_of(const SrShownTake* const takes, const size_t count)
{
  static char* text; // static, since open_memstream() keeps its address
  static size_t size;
  FILE* const stream = open_memstream(&text, &size);
  assert_int_equal(sr_show_json(stream, takes, count, NULL), SR_OK);
  fclose(stream);
  return text;
}

static char*
csv_of(const SrShownTake* const take)
{
  static char* text; // static, since open_memstream() keeps its address
  static size_t size;
  FILE* const stream = open_memstream(&text, &size);
  sr_show_csv_header(stream);
  sr_show_csv_row(stream, take);
  fclose(stream);
  return text;
}

/// Every line is at most 80 columns (one byte a column in ASCII).
static void
check_width(const char* text)
{
  while (*text) {
    const size_t length = strcspn(text, "\n");
    assert_true(length <= 80);
    text += length + (text[length] ? 1 : 0);
  }
}

static void
text_names_only_what_went_wrong(void** const state)
{
  (void)state;
  const SrShownTake take = shown_take();
  const SrShowStyle plain = {.columns = 0};
  char* const text = text_of(&take, &plain);
  check_width(text);
  unwrap(text);
  const char* const expected[] = {
      "The Lamp in the Porch",
      "tuesday.wav",
      "overdriven",
      "100 pulses a minute",
      "6 of 8 notes played",
      "1 missed",
      "1 wrong",
      "1 of 5 cuts clean, 1 not played",
      "4 bars on your own: 35 ms early, 1.2 % fast",
      "1 bar on your own: 12 ms early compared with before, 0.5 % slow",
      "cut joined: you held on to the note before (it dropped 2 dB)",
      "wrong note: G was heard",
      "hesitation",
      "cut long: 110 ms",
      "44 ms late",
      "cut absent: the notes were separate, but none was heard",
      "slower",
      "extra note: B4 before",
      "Scores out of 100: cuts 20, evenness 81",
      "Advice: bar 2",
  };
  for (size_t i = 0; i < sizeof(expected) / sizeof(expected[0]); ++i) {
    if (!strstr(text, expected[i])) {
      print_error("missing: %s\nin:\n%s\n", expected[i], text ? text : "");
    }
    assert_non_null(strstr(text, expected[i]));
  }
  // Notes that went well, their cents and the air score, which is not known, are not there.
  assert_null(strstr(text, "cut clean"));
  assert_null(strstr(text, "2 ms late"));
  assert_null(strstr(text, "air"));
  assert_null(strchr(text, '\033'));
  free(text);
}

/// Air: what was heard by default, what hid with all notes, and counted in the round's line.
static void
air_is_reported(void** const state)
{
  (void)state;
  static SrAirRelease air[2];
  SrShownTake take = shown_take();
  const SrShowStyle plain = {.columns = 0};
  const SrShowStyle all = {.all_notes = true};
  notes[0].air_asked = true;
  notes[1].air_asked = true;
  notes[6].air_asked = true;
  air[0] = (SrAirRelease){.level_db = -20.0,
                          .over_mask_db = 6.2,
                          .audible = true,
                          .note_index = 0,
                          .asked = true,
                          .note_dip_db = 2.6,
                          .note_bend_cents = -7.0,
                          .late_ms = 31.0};
  air[1] = (SrAirRelease){.level_db = -34.0,
                          .over_mask_db = -3.0,
                          .note_index = 1,
                          .asked = true,
                          .note_dip_db = 0.2,
                          .note_bend_cents = 1.0,
                          .late_ms = NAN_D};
  rounds[0].air = air;
  rounds[0].air_count = 2;
  rounds[0].scores.air = 88.0;
  char* text = text_of(&take, &plain);
  check_width(text);
  unwrap(text);
  assert_non_null(strstr(text, "air asked for 3 times and heard 1"));
  assert_non_null(strstr(text, "air heard, 6 dB louder than the note can hide, the note dipped by "
                               "3 dB, bent 7 cents flat, the next note spoke 31 ms late"));
  assert_null(strstr(text, "hidden"));
  assert_non_null(strstr(text, "air 88"));
  free(text);
  text = text_of(&take, &all);
  unwrap(text);
  assert_non_null(strstr(text, "air hidden, 3 dB below what can be heard"));
  assert_non_null(strstr(text, "air asked for, none heard"));
  free(text);
  text = json_of(&take, 1);
  json_t* const root = json_loads(text, 0, NULL);
  const json_t* const round = json_array_get(json_object_get(root, "rounds"), 0);
  const json_t* const first = json_array_get(json_object_get(round, "air"), 0);
  assert_true(json_is_true(json_object_get(first, "audible")));
  assert_true(json_is_true(json_object_get(first, "asked")));
  assert_true(fabs(json_number_value(json_object_get(first, "late_ms")) - 31.0) < 1e-9);
  assert_true(
      json_is_null(json_object_get(json_array_get(json_object_get(round, "air"), 1), "late_ms")));
  json_decref(root);
  free(text);
  rounds[0].air_count = 0;
}

/// Over many rounds, what went wrong is counted note by note instead of reported each time.
static void
many_rounds_are_counted_up(void** const state)
{
  (void)state;
  const SrShownTake take = shown_take();
  SrRound many[9];
  for (size_t i = 0; i < 9; ++i) {
    many[i] = rounds[0];
  }
  assessment.rounds = many;
  assessment.round_count = 9;
  const SrShowStyle plain = {.columns = 0};
  char* const text = text_of(&take, &plain);
  check_width(text);
  unwrap(text);
  assert_non_null(strstr(text, "Round 9 of 9"));
  assert_non_null(strstr(text, "most often"));
  assert_non_null(strstr(text, "cut long, 9 of 9 times"));
  assert_non_null(strstr(text, "clearly late, 9 of 9 times"));
  assert_non_null(strstr(text, "missed, 9 of 9 times"));
  assert_null(strstr(text, "44 ms late"));
  free(text);
  // What comes behind the place where the player stopped was not missed
  slips[0] = (SrSlip){SR_SLIP_STOPPED, 1.0, 2, 1, NAN_D, 0, 0, 0.0};
  char* const stopped = text_of(&take, &plain);
  unwrap(stopped);
  assert_non_null(strstr(stopped, "cut long, 9 of 9 times"));
  assert_null(strstr(stopped, "missed, 9 of"));
  free(stopped);
  slips[0] = (SrSlip){SR_SLIP_OTHER_TEMPO, 1.0, 2, 1, 0.4, 0, 4, 25.0};
  char* const slower = text_of(&take, &plain);
  unwrap(slower);
  assert_non_null(strstr(slower, "slower or faster from here for a while, 9 of 9 times"));
  free(slower);
  assessment.round_count = 1;
  char* const once = text_of(&take, &plain);
  unwrap(once);
  assert_non_null(strstr(once, "took 25 % longer from here, 0.4 s in all; back to tempo at the "));
  free(once);
}

static void
all_lists_each_note(void** const state)
{
  (void)state;
  const SrShownTake take = shown_take();
  const SrShowStyle style = {.all_notes = true};
  char* const text = text_of(&take, &style);
  check_width(text);
  assert_non_null(strstr(text, "cut clean, 41 ms"));
  size_t lines = 0;
  for (const char* at = text; (at = strstr(at, "A4 ")); ++at) {
    ++lines;
  }
  assert_int_equal(lines >= 8, 1);
  free(text);
}

/// Without the sequences of colour, the coloured text is the plain one to the byte.
static void
colour_only_repeats_words(void** const state)
{
  (void)state;
  const SrShownTake take = shown_take();
  const SrShowStyle plain = {.columns = 0};
  const SrShowStyle coloured = {.colour = true};
  char* const expected = text_of(&take, &plain);
  char* const text = text_of(&take, &coloured);
  assert_non_null(strchr(text, '\033'));
  char* to = text;
  for (const char* from = text; *from;) {
    if (*from == '\033') {
      from += strcspn(from, "m") + 1;
    } else {
      *to++ = *from++;
    }
  }
  *to = '\0';
  assert_string_equal(text, expected);
  free(text);
  free(expected);
}

static void
control_characters_do_not_reach_the_terminal(void** const state)
{
  (void)state;
  SrShownTake take = shown_take();
  char evil_title[] = "\033[2JGone\xC2\x9B"
                      "31m\xFF";
  assessment.title = evil_title;
  take.path = "a\033]0;b\007.wav";
  const SrShowStyle style = {.unicode = true};
  char* const text = text_of(&take, &style);
  for (const char* c = text; *c; ++c) {
    const unsigned char byte = (unsigned char)*c;
    assert_true(byte == '\n' || byte >= 0x20);
  }
  assert_null(strstr(text, "\xC2\x9B"));
  assert_non_null(strstr(text, "Gone"));
  free(text);
}

static void
json_has_the_keys_of_version_1(void** const state)
{
  (void)state;
  const SrShownTake take = shown_take();
  char* const text = json_of(&take, 1);
  json_error_t error;
  json_t* const root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
  assert_non_null(root);
  schema_check_assessment(root);

  // Absent values are null, numbers are rounded.
  json_t* const round = json_array_get(json_object_get(root, "rounds"), 0);
  json_t* const list = json_object_get(round, "notes");
  assert_true(json_is_null(json_object_get(json_object_get(root, "take"), "peak_dbfs")));
  assert_true(json_is_null(json_object_get(json_array_get(list, 2), "onset_s")));
  assert_true(json_is_null(json_object_get(json_array_get(list, 0), "joined")));
  assert_true(json_is_true(json_object_get(json_array_get(list, 2), "joined")));
  assert_true(json_is_null(json_object_get(json_array_get(list, 0), "cut")));
  assert_true(json_is_null(json_object_get(json_array_get(list, 3), "heard_midi")));
  assert_true(json_is_null(json_object_get(json_object_get(round, "scores"), "air")));
  const json_t* const cut = json_object_get(json_array_get(list, 1), "cut");
  assert_true(fabs(json_number_value(json_object_get(cut, "length_ms")) - 41.23) < 1e-9);
  assert_non_null(strstr(text, "\"length_ms\": 41.23,"));
  assert_non_null(strstr(text, "\"unit\": \"3/8\""));
  json_decref(root);
  free(text);
}

static void
several_takes_are_an_array(void** const state)
{
  (void)state;
  SrError error;
  sr_error_set(&error, SR_NO_MATCH, "This is another tune.");
  SrShownTake takes[2] = {shown_take(), {"other \xFF.wav", NULL, NULL, &error, NULL, 0}};
  char* const text = json_of(takes, 2);
  json_t* const root = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
  assert_int_equal(json_array_size(root), 2);
  schema_check_assessment(json_array_get(root, 0));
  schema_check_refusal(json_array_get(root, 1));
  json_decref(root);
  free(text);
}

/// Split the next cell off a CSV text by RFC 4180; the cell is put into `cell`.
static const char*
next_cell(const char* at, char* const cell)
{
  char* to = cell;
  if (*at == '"') {
    for (++at; *at; ++at) {
      if (*at == '"' && at[1] == '"') {
        *to++ = *at++;
      } else if (*at == '"') {
        ++at;
        break;
      } else {
        *to++ = *at;
      }
    }
  } else {
    while (*at && *at != ',' && *at != '\r') {
      *to++ = *at++;
    }
  }
  *to = '\0';
  return at;
}

/// Cell of the first data row under the header `column`.
static void
find_cell(const char* const csv, const char* const column, char* const cell)
{
  char name[512];
  size_t index = 0;
  const char* at = csv;
  for (;;) {
    at = next_cell(at, name);
    if (!strcmp(name, column)) {
      break;
    }
    assert_int_equal(*at, ',');
    ++at;
    ++index;
  }
  at = strstr(csv, "\r\n") + 2;
  for (size_t i = 0; i <= index; ++i) {
    at = next_cell(at, cell);
    assert_true(i == index || *at == ',');
    at += i == index ? 0 : 1;
  }
}

static size_t
count_cells(const char* at)
{
  char cell[4096];
  size_t count = 1;
  while (*(at = next_cell(at, cell)) == ',') {
    ++count;
    ++at;
  }
  assert_memory_equal(at, "\r\n", 2);
  return count;
}

static void
csv_can_be_read_back(void** const state)
{
  (void)state;
  const SrShownTake take = shown_take();
  char* const csv = csv_of(&take);
  char cell[4096];
  assert_int_equal(count_cells(csv), count_cells(strstr(csv, "\r\n") + 2));
  find_cell(csv, "phrase", cell);
  assert_string_equal(cell, title);
  find_cell(csv, "judged", cell);
  assert_string_equal(cell, "yes");
  find_cell(csv, "notes played", cell);
  assert_string_equal(cell, "6");
  find_cell(csv, "cuts joined", cell);
  assert_string_equal(cell, "1");
  find_cell(csv, "score air", cell);
  assert_string_equal(cell, "");
  find_cell(csv, "advice", cell);
  assert_string_equal(cell, advice_line);
  free(csv);
}

static void
csv_tells_a_refused_take(void** const state)
{
  (void)state;
  SrError error;
  sr_error_set(&error, SR_NO_MATCH, "This is another tune, \"perhaps\".");
  const SrShownTake take = {"=1+1.wav", NULL, NULL, &error, NULL, 0};
  char* const csv = csv_of(&take);
  char cell[4096];
  assert_int_equal(count_cells(csv), count_cells(strstr(csv, "\r\n") + 2));
  find_cell(csv, "take", cell);
  assert_string_equal(cell, "'=1+1.wav"); // no formula
  find_cell(csv, "judged", cell);
  assert_string_equal(cell, "no");
  find_cell(csv, "score cuts", cell);
  assert_string_equal(cell, "");
  find_cell(csv, "why not judged", cell);
  assert_string_equal(cell, "This is another tune, \"perhaps\".");
  free(csv);
}

/// What the JSON calls a thing of the first note, as a path of two keys or one.
static char*
json_word(const SrShownTake* const take, const char* const outer, const char* const inner)
{
  char* const text = json_of(take, 1);
  json_t* const root = json_loads(text, 0, NULL);
  const json_t* const round = json_array_get(json_object_get(root, "rounds"), 0);
  const json_t* const note = json_array_get(json_object_get(round, "notes"), 0);
  const json_t* const value =
      inner ? json_object_get(json_object_get(note, outer), inner) : json_object_get(note, outer);
  assert_true(json_is_string(value));
  char* const word = strdup(json_string_value(value));
  json_decref(root);
  free(text);
  return word;
}

static bool
has_column(const char* const csv, const char* const name)
{
  char* const header = strndup(csv, strcspn(csv, "\r"));
  bool has = false;
  for (char* rest = header; rest && !has;) {
    has = !strcmp(strsep(&rest, ","), name);
  }
  free(header);
  return has;
}

/// A verdict has one name: on the screen and in the CSV it is called as in the JSON.
static void
one_name_for_a_verdict(void** const state)
{
  (void)state;
  const SrShowStyle all = {.all_notes = true};
  const SrShownTake take = shown_take();
  char* const csv = csv_of(&take);
  rounds[0].note_count = 1;
  rounds[0].insertion_count = 0;
  rounds[0].slip_count = 0;
  for (int status = SR_NOTE_PLAYED; status <= SR_NOTE_UNHEARD; ++status) {
    notes[0].status = (SrNoteStatus)status;
    char* const word = json_word(&take, "status", NULL);
    char* const text = text_of(&take, &all);
    char column[32];
    snprintf(column, sizeof(column), "%s%s", status == SR_NOTE_PLAYED ? "notes " : "", word);
    // In the note's own line
    assert_non_null(strstr(strstr(text, "what"), word));
    assert_true(has_column(csv, column));
    free(text);
    free(word);
  }
  notes[0].status = SR_NOTE_PLAYED;
  notes[0].has_cut = true;
  for (int verdict = SR_CUT_CLEAN; verdict <= SR_CUT_STRAY; ++verdict) {
    notes[0].cut.verdict = (SrCutVerdict)verdict;
    char* const word = json_word(&take, "cut", "verdict");
    char* const text = text_of(&take, &all);
    char column[32];
    snprintf(column, sizeof(column), "cuts %s", word);
    assert_non_null(strstr(strstr(text, "what"), word));
    assert_true(has_column(csv, column));
    free(text);
    free(word);
  }
  free(csv);
}

/// A click that was left is reported, first, also where nothing else went wrong.
static void
a_click_that_was_left(void** const state)
{
  (void)state;
  const SrShowStyle plain = {.columns = 0};
  const SrShownTake take = shown_take();
  rounds[0].note_count = 1;
  rounds[0].insertion_count = 0;
  rounds[0].slip_count = 0;
  char* text = text_of(&take, &plain);
  assert_non_null(strstr(text, "Nothing went wrong."));
  free(text);
  rounds[0].pulse.left_pulses = -2.71;
  rounds[0].pulse.left_percent = -4.52;
  text = text_of(&take, &plain);
  assert_non_null(
      strstr(text, "  You did not stay with the click: 2.7 beats behind it (4.5 % slower).\n"));
  assert_null(strstr(text, "Nothing went wrong."));
  free(text);
  char* const json = json_of(&take, 1);
  assert_non_null(strstr(json, "\"left_pulses\": -2.71"));
  rounds[0].pulse.left_pulses = rounds[0].pulse.left_percent = NAN_D;
  rounds[0].pulse.mean_offset_ms = -141.0;
  text = text_of(&take, &plain);
  assert_non_null(strstr(text, "  You were 141 ms ahead of the click on average.\n"));
  assert_null(strstr(text, "Nothing went wrong."));
  free(text);
  free(json);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_name_for_a_verdict),
      cmocka_unit_test(a_click_that_was_left),
      cmocka_unit_test(air_is_reported),
      cmocka_unit_test(text_names_only_what_went_wrong),
      cmocka_unit_test(many_rounds_are_counted_up),
      cmocka_unit_test(all_lists_each_note),
      cmocka_unit_test(colour_only_repeats_words),
      cmocka_unit_test(control_characters_do_not_reach_the_terminal),
      cmocka_unit_test(json_has_the_keys_of_version_1),
      cmocka_unit_test(several_takes_are_an_array),
      cmocka_unit_test(csv_can_be_read_back),
      cmocka_unit_test(csv_tells_a_refused_take),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
