// SPDX-License-Identifier: GPL-3.0-or-later

// Values from outside, checked before they become part of the history.

#include "history_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static SrStatus
refuse(const SrField* const field, const char* const wanted, SrError* const error)
{
  return sr_error_set(error, SR_BAD_SYNTAX, "\"%s\" must be %s.", field->name, wanted);
}

static SrStatus
refuse_number(const SrField* const field, SrError* const error)
{
  char wanted[96];
  snprintf(wanted, sizeof(wanted), "a %snumber from %.0f to %.0f",
           field->kind == SR_FIELD_REAL ? "" : "whole ", field->least, field->most);
  return refuse(field, wanted, error);
}

static SrStatus
set_text(const SrField* const field, const char* const text, const size_t length,
         SrHistoryRecord* const record, SrError* const error)
{
  if ((double)length > field->most || strlen(text) != length) {
    char wanted[64];
    snprintf(wanted, sizeof(wanted), "a text of at most %.0f bytes", field->most);
    return refuse(field, wanted, error);
  }
  char** const place = sr_field_text(field, record);
  free(*place);
  *place = strdup(text);
  return *place ? SR_OK : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
}

static SrStatus
set_json(const SrField* const field, const json_t* const value, SrHistoryRecord* const record,
         SrError* const error)
{
  const bool bars = !strcmp(field->name, "bars");
  if (bars ? !json_is_array(value) : !json_is_object(value)) {
    return refuse(field, bars ? "an array" : "an object", error);
  }
  char* const line = json_dumps(value, SR_HISTORY_JSON);
  if (!line) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  char** const place = sr_field_text(field, record);
  free(*place);
  *place = line;
  return (double)strlen(line) > field->most ? refuse(field, "smaller", error) : SR_OK;
}

SrStatus
sr_field_set(const SrField* const field, const json_t* const value, SrHistoryRecord* const record,
             SrError* const error)
{
  if (!value || json_is_null(value)) {
    return field->required ? refuse(field, "there", error) : SR_OK;
  }
  const double number = json_number_value(value);
  const bool in_range = json_is_number(value) && number >= field->least && number <= field->most;
  switch (field->kind) {
  case SR_FIELD_COUNT:
    if (!json_is_integer(value) || !in_range) {
      return refuse_number(field, error);
    }
    *sr_field_integer(field, record) = json_integer_value(value);
    return SR_OK;
  case SR_FIELD_REAL:
  case SR_FIELD_WHOLE:
    if (!in_range || (field->kind == SR_FIELD_WHOLE && !json_is_integer(value))) {
      return refuse_number(field, error);
    }
    *sr_field_real(field, record) = sr_record_round(field, number);
    return SR_OK;
  case SR_FIELD_TEXT:
    return json_is_string(value)
               ? set_text(field, json_string_value(value), json_string_length(value), record, error)
               : refuse(field, "a text", error);
  case SR_FIELD_JSON:
    return set_json(field, value, record, error);
  }
  return SR_OK;
}

/// Whether an array of bars has what its table asks for, each bar once.
static bool
are_bars(const char* const text)
{
  static const char* const names[] = {"bar",         "notes",    "wrong", "joined",   "cuts",
                                      "cuts_faulty", "inserted", "slips", "air_heard"};
  json_t* const list = json_loads(text, 0, NULL);
  bool good = json_is_array(list);
  size_t i;
  const json_t* bar;
  json_int_t last = -1;
  json_array_foreach(list, i, bar)
  {
    good = good && json_object_size(bar) == sizeof(names) / sizeof(names[0]);
    for (size_t n = 0; n < sizeof(names) / sizeof(names[0]); ++n) {
      const json_t* const value = json_object_get(bar, names[n]);
      const json_int_t number = json_integer_value(value);
      good = good && json_is_integer(value) && number >= 0 && number <= 1000000000;
    }
    // In order, so that the same bars are always the same text
    const json_int_t number = json_integer_value(json_object_get(bar, "bar"));
    good = good && number > last;
    last = number;
  }
  json_decref(list);
  return good;
}

SrStatus
sr_record_check(const SrHistoryRecord* const record, SrError* const error)
{
  static const char* const clicks[] = {"none", "pulses", "bars"};
  bool click = false;
  for (size_t i = 0; i < sizeof(clicks) / sizeof(clicks[0]); ++i) {
    click = click || !strcmp(record->click, clicks[i]);
  }
  if (!click) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "\"click\" must be \"none\", \"pulses\" or \"bars\".");
  }
  const char part = record->part[0];
  if (part && (part < 'A' || part > 'Z')) {
    return sr_error_set(error, SR_BAD_SYNTAX, "\"part\" must be a letter from A to Z, or empty.");
  }
  if (!record->uid[0] || !record->identity[0]) {
    return sr_error_set(error, SR_BAD_SYNTAX, "\"uid\" and \"identity\" must not be empty.");
  }
  if (record->take && (!record->take[0] || strchr(record->take, '/') || record->take[0] == '.')) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "\"take\" must be the name of a file, without a folder.");
  }
  if (record->take ? isnan(record->take_marked) : !isnan(record->take_marked)) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "\"take_marked\" must be there where \"take\" is, and only there.");
  }
  return are_bars(record->bars)
             ? SR_OK
             : sr_error_set(error, SR_BAD_SYNTAX,
                            "\"bars\" must be an array of bars in order, each an object with whole "
                            "numbers.");
}
