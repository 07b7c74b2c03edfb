// SPDX-License-Identifier: GPL-3.0-or-later

// Written from the description of the format alone, not from the code that
// writes it. Keys may be added to version 1, so further ones are allowed.

#include "assessment_schema.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <stdbool.h>
#include <string.h>

/// Kinds of value.
typedef enum { NUMBER, NUMBER_OR_NULL, WHOLE, WHOLE_OR_NULL, STRING, YES_NO, YES_NO_OR_NULL } Kind;

typedef struct {
  const char* key;
  Kind kind;
} Field;

static void
check_field(const json_t* const object, const Field* const field)
{
  const json_t* const value = json_object_get(object, field->key);
  const bool null = json_is_null(value);
  bool good = false;
  switch (field->kind) {
  case NUMBER:
    good = json_is_number(value);
    break;
  case NUMBER_OR_NULL:
    good = json_is_number(value) || null;
    break;
  case WHOLE:
    good = json_is_integer(value);
    break;
  case WHOLE_OR_NULL:
    good = json_is_integer(value) || null;
    break;
  case STRING:
    good = json_is_string(value);
    break;
  case YES_NO:
    good = json_is_boolean(value);
    break;
  case YES_NO_OR_NULL:
    good = json_is_boolean(value) || null;
    break;
  }
  if (!good) {
    fail_msg("key \"%s\" is absent or of the wrong kind", field->key);
  }
}

#define CHECK_FIELDS(object, fields)                                                               \
  do {                                                                                             \
    assert_true(json_is_object(object));                                                           \
    for (size_t f = 0; f < sizeof(fields) / sizeof((fields)[0]); ++f) {                            \
      check_field(object, &(fields)[f]);                                                           \
    }                                                                                              \
  } while (0)

static void
check_word(const json_t* const object, const char* const key, const char* const* const words)
{
  const char* const word = json_string_value(json_object_get(object, key));
  assert_non_null(word);
  for (size_t i = 0; words[i]; ++i) {
    if (!strcmp(word, words[i])) {
      return;
    }
  }
  fail_msg("key \"%s\" has the unknown word \"%s\"", key, word);
}

static void
check_note(const json_t* const note, const size_t index)
{
  static const Field fields[] = {
      {"index", WHOLE},
      {"bar", WHOLE},
      {"midi", WHOLE},
      {"status", STRING},
      {"heard_midi", WHOLE_OR_NULL},
      {"due_s", NUMBER_OR_NULL},
      {"onset_s", NUMBER_OR_NULL},
      {"end_s", NUMBER_OR_NULL},
      {"offset_ms", NUMBER_OR_NULL},
      {"cents", NUMBER_OR_NULL},
      {"level_db", NUMBER_OR_NULL},
      {"joined", YES_NO_OR_NULL},
      {"graces", WHOLE},
  };
  static const Field cut_fields[] = {
      {"verdict", STRING},     {"onset_s", NUMBER_OR_NULL}, {"length_ms", NUMBER_OR_NULL},
      {"midi", WHOLE_OR_NULL}, {"fall_db", NUMBER_OR_NULL},
  };
  static const char* const statuses[] = {"played", "missed", "wrong", "unheard", NULL};
  static const char* const verdicts[] = {"clean", "long", "joined", "absent", "stray", NULL};
  static const char* const ornaments[] = {"cut", "strike", "roll", "cran", "group", NULL};
  CHECK_FIELDS(note, fields);
  check_word(note, "status", statuses);
  assert_non_null(json_object_get(note, "ornament"));
  if (!json_is_null(json_object_get(note, "ornament"))) {
    check_word(note, "ornament", ornaments);
  }
  assert_int_equal(json_integer_value(json_object_get(note, "index")), (json_int_t)index);
  const json_t* const cut = json_object_get(note, "cut");
  assert_non_null(cut);
  if (!json_is_null(cut)) {
    CHECK_FIELDS(cut, cut_fields);
    check_word(cut, "verdict", verdicts);
  }
}

static void
check_pulse(const json_t* const pulse)
{
  static const Field fields[] = {
      {"unit", STRING},
      {"target_bpm", NUMBER_OR_NULL},
      {"played_bpm", NUMBER_OR_NULL},
      {"drift_percent", NUMBER_OR_NULL},
      {"first_bpm", NUMBER_OR_NULL},
      {"last_bpm", NUMBER_OR_NULL},
      {"change_percent", NUMBER_OR_NULL},
      {"jump_note", WHOLE_OR_NULL},
      {"mean_offset_ms", NUMBER_OR_NULL},
      {"left_pulses", NUMBER_OR_NULL},
      {"left_percent", NUMBER_OR_NULL},
      {"spread_ms", NUMBER_OR_NULL},
      {"npvi", NUMBER_OR_NULL},
  };
  CHECK_FIELDS(pulse, fields);
  const json_t* const lilt = json_object_get(pulse, "lilt");
  assert_true(json_is_array(lilt));
  for (size_t i = 0; i < json_array_size(lilt); ++i) {
    assert_true(json_is_number(json_array_get(lilt, i)));
  }
}

/// How the beat was kept while the click was silent.
static void
check_alone(const json_t* const round)
{
  static const Field fields[] = {{"start_s", NUMBER},
                                 {"end_s", NUMBER},
                                 {"bars", WHOLE},
                                 {"offset_ms", NUMBER_OR_NULL},
                                 {"change_ms", NUMBER_OR_NULL},
                                 {"tempo_percent", NUMBER}};
  const json_t* const alone = json_object_get(round, "alone");
  assert_true(json_is_array(alone));
  for (size_t i = 0; i < json_array_size(alone); ++i) {
    CHECK_FIELDS(json_array_get(alone, i), fields);
  }
}

/// What was asked, and what of it was judged.
static void
check_amounts(const json_t* const round)
{
  static const char* const keys[] = {"notes", "cuts", "air"};
  for (size_t i = 0; i < sizeof(keys) / sizeof(keys[0]); ++i) {
    const json_t* const asked = json_object_get(json_object_get(round, "asked"), keys[i]);
    const json_t* const judged = json_object_get(json_object_get(round, "judged"), keys[i]);
    assert_true(json_is_integer(asked) && json_is_integer(judged));
    assert_true(json_integer_value(judged) <= json_integer_value(asked));
  }
}

static void
check_round(const json_t* const round, const size_t phrase_notes)
{
  check_amounts(round);
  check_alone(round);
  static const Field fields[] = {{"start_s", NUMBER}, {"end_s", NUMBER}};
  static const Field extra_fields[] = {{"onset_s", NUMBER}, {"end_s", NUMBER}, {"midi", WHOLE}};
  static const Field air_fields[] = {
      {"start_s", NUMBER},
      {"end_s", NUMBER},
      {"level_db", NUMBER},
      {"over_mask_db", NUMBER},
      {"audible", YES_NO},
      {"note_index", WHOLE_OR_NULL},
      {"note_dip_db", NUMBER_OR_NULL},
      {"note_bend_cents", NUMBER_OR_NULL},
      {"between", YES_NO},
      {"asked", YES_NO},
      {"late_ms", NUMBER_OR_NULL},
      {"failed", YES_NO},
  };
  static const Field slip_fields[] = {
      {"kind", STRING},         {"at_s", NUMBER_OR_NULL},           {"note_index", WHOLE},
      {"bar", WHOLE},           {"wait_s", NUMBER_OR_NULL},         {"left_out", WHOLE},
      {"until", WHOLE_OR_NULL}, {"longer_percent", NUMBER_OR_NULL},
  };
  static const Field score_fields[] = {
      {"cuts", NUMBER_OR_NULL}, {"evenness", NUMBER_OR_NULL}, {"air", NUMBER_OR_NULL}};
  static const char* const slips[] = {"false start", "restart", "hesitation",  "stopped",
                                      "left out",    "hurried", "other tempo", NULL};

  CHECK_FIELDS(round, fields);
  check_pulse(json_object_get(round, "pulse"));

  const json_t* const notes = json_object_get(round, "notes");
  assert_true(json_is_array(notes));
  assert_int_equal(json_array_size(notes), phrase_notes);
  for (size_t i = 0; i < json_array_size(notes); ++i) {
    check_note(json_array_get(notes, i), i);
  }
  const json_t* const extra = json_object_get(round, "extra");
  assert_true(json_is_array(extra));
  for (size_t i = 0; i < json_array_size(extra); ++i) {
    CHECK_FIELDS(json_array_get(extra, i), extra_fields);
  }
  const json_t* const air = json_object_get(round, "air");
  assert_true(json_is_array(air));
  for (size_t i = 0; i < json_array_size(air); ++i) {
    CHECK_FIELDS(json_array_get(air, i), air_fields);
  }
  const json_t* const list = json_object_get(round, "slips");
  assert_true(json_is_array(list));
  for (size_t i = 0; i < json_array_size(list); ++i) {
    CHECK_FIELDS(json_array_get(list, i), slip_fields);
    check_word(json_array_get(list, i), "kind", slips);
  }
  static const Field not_judged_fields[] = {
      {"ornament", STRING}, {"written", WHOLE}, {"heard", WHOLE}, {"in_part", WHOLE}};
  const json_t* const not_judged = json_object_get(round, "not_judged");
  assert_true(json_is_array(not_judged));
  for (size_t i = 0; i < json_array_size(not_judged); ++i) {
    CHECK_FIELDS(json_array_get(not_judged, i), not_judged_fields);
  }
  const json_t* const scores = json_object_get(round, "scores");
  CHECK_FIELDS(scores, score_fields);
  for (size_t i = 0; i < sizeof(score_fields) / sizeof(score_fields[0]); ++i) {
    const json_t* const score = json_object_get(scores, score_fields[i].key);
    assert_true(json_is_null(score) ||
                (json_number_value(score) >= 0.0 && json_number_value(score) <= 100.0));
  }
  const json_t* const advice = json_object_get(round, "advice");
  assert_true(json_is_array(advice));
  for (size_t i = 0; i < json_array_size(advice); ++i) {
    assert_true(json_is_string(json_array_get(advice, i)));
  }
}

void
schema_check_assessment(const json_t* const root)
{
  static const Field fields[] = {{"format", STRING},
                                 {"version", WHOLE},
                                 {"reference_hz", NUMBER_OR_NULL},
                                 {"doubled", YES_NO},
                                 {"accompanied", YES_NO}};
  static const Field phrase_fields[] = {{"title", STRING},
                                        {"first_bar", WHOLE},
                                        {"last_bar", WHOLE},
                                        {"notes", WHOLE},
                                        {"transposed", WHOLE}};
  static const Field take_fields[] = {
      {"path", STRING},           {"seconds", NUMBER},
      {"rate_hz", NUMBER},        {"peak_dbfs", NUMBER_OR_NULL},
      {"clipped_samples", WHOLE},
  };
  CHECK_FIELDS(root, fields);
  assert_string_equal(json_string_value(json_object_get(root, "format")), "steadyreed-assessment");
  assert_int_equal(json_integer_value(json_object_get(root, "version")), 1);
  const json_t* const unreported = json_object_get(root, "air_untold");
  assert_true(json_is_null(unreported) || json_is_string(unreported));
  const json_t* const phrase = json_object_get(root, "phrase");
  CHECK_FIELDS(phrase, phrase_fields);
  CHECK_FIELDS(json_object_get(root, "take"), take_fields);
  const json_t* const rounds = json_object_get(root, "rounds");
  assert_true(json_is_array(rounds));
  const size_t notes = (size_t)json_integer_value(json_object_get(phrase, "notes"));
  for (size_t i = 0; i < json_array_size(rounds); ++i) {
    check_round(json_array_get(rounds, i), notes);
  }
}

void
schema_check_refusal(const json_t* const root)
{
  static const Field fields[] = {{"format", STRING}, {"version", WHOLE}, {"error", STRING}};
  static const Field take_fields[] = {{"path", STRING}};
  CHECK_FIELDS(root, fields);
  assert_string_equal(json_string_value(json_object_get(root, "format")), "steadyreed-refusal");
  CHECK_FIELDS(json_object_get(root, "take"), take_fields);
  assert_true(json_string_length(json_object_get(root, "error")) > 10);
  assert_null(json_object_get(root, "rounds"));
}
