// SPDX-License-Identifier: GPL-3.0-or-later

#include "past_faults.h"

#include <steadyreed/input.h>

#include <jansson.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Weights of faults in the costs of a plan, for each round in which they occur.
#define FAULT_NOTE 30.0
#define FAULT_CUT 20.0
#define FAULT_JOINED 20.0
#define FAULT_TIME 10.0
/// An offset that deserves practice, ms (common practice, no source).
#define FAULT_MS 30.0
/// Size limit of an assessment, bytes: an hour of rounds takes about 30 MB.
#define MOST_BYTES (64u << 20)

/// Faults of one note in an assessment; `before` is the previous note. Of notes left out only the
/// first counts: the join into them failed.
static double
faults_of(const json_t* const before, const json_t* const note)
{
  if (json_is_true(json_object_get(note, "left_out"))) {
    return json_is_true(json_object_get(before, "left_out")) ? 0.0 : FAULT_NOTE;
  }
  const char* const status = json_string_value(json_object_get(note, "status"));
  const json_t* const cut = json_object_get(note, "cut");
  const char* const verdict = json_string_value(json_object_get(cut, "verdict"));
  const double offset = json_number_value(json_object_get(note, "offset_ms"));
  double faults = 0.0;
  faults +=
      status && (strcmp(status, "missed") == 0 || strcmp(status, "wrong") == 0) ? FAULT_NOTE : 0.0;
  faults +=
      verdict && strcmp(verdict, "clean") != 0 && strcmp(verdict, "stray") != 0 ? FAULT_CUT : 0.0;
  faults += json_is_true(json_object_get(note, "joined")) ? FAULT_JOINED : 0.0;
  faults += fabs(offset) > FAULT_MS ? FAULT_TIME : 0.0;
  return faults;
}

static SrStatus
add_rounds(const json_t* const rounds, const size_t count, double* const hard, SrError* const error)
{
  const double share = 1.0 / (double)json_array_size(rounds);
  for (size_t r = 0; r < json_array_size(rounds); ++r) {
    const json_t* const notes = json_object_get(json_array_get(rounds, r), "notes");
    if (json_array_size(notes) != count) {
      return sr_error_set(error, SR_BAD_SYNTAX,
                          "This assessment is of a phrase of %zu notes, but this one has %zu. "
                          "Choose the same bars.",
                          json_array_size(notes), count);
    }
    for (size_t i = 0; i < count; ++i) {
      const json_t* const before = i > 0 ? json_array_get(notes, i - 1) : NULL;
      hard[i] += share * faults_of(before, json_array_get(notes, i));
    }
  }
  return SR_OK;
}

SrStatus
sr_past_faults_add(const char* const path, const size_t count, double* const hard,
                   SrError* const error)
{
  static const SrInputKind kind = {"assessment", MOST_BYTES, false};
  char* text = NULL;
  size_t size = 0;
  SrStatus status = sr_input_read(path, &kind, &text, &size, error);
  if (status != SR_OK) {
    return status;
  }
  json_t* const json = json_loadb(text, size, 0, NULL);
  free(text);
  const char* const format = json_string_value(json_object_get(json, "format"));
  const json_t* const rounds = json_object_get(json, "rounds");
  if (!format || strcmp(format, "steadyreed-assessment") != 0 || json_array_size(rounds) == 0) {
    status = sr_error_set(
        error, SR_BAD_SYNTAX,
        "This is not an assessment. Make one with `steadyreed assess PHRASE TAKE --json`.");
  } else {
    status = add_rounds(rounds, count, hard, error);
  }
  if (status != SR_OK) {
    sr_error_place(error, path, 0, 0);
  }
  json_decref(json);
  return status;
}
