// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file style.c
   Turning the bellows at every pulse and never turning them are both expensive: `turn` against
   `flat`.
*/

#include "json_trouble.h"

#include "../utf8.h"

#include <steadyreed/input.h>
#include <steadyreed/plan.h>

#include <jansson.h>

#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FORMAT "steadyreed-style"
/// Upper limit of a weight.
#define MOST_COST 10000
/// Size limit of a file, bytes.
#define MOST_BYTES 65536u

// Common practice, no source. Along the rows: the fingers stay in a row and the bellows turn as
// needed. Across the rows: the fingers change rows so that the bellows turn with the pulse.
static const SrPlanStyle styles[SR_PLAN_STYLES] = {
    {.name = "along the rows",
     .jump = 24,
     .row = 12,
     .stretch = 5,
     .far_row = 14,
     .turn = 2,
     .turn_inside = 4,
     .flat = 1,
     .low_room = 10,
     .air = 6,
     .air_unasked = 20,
     .air_short = 6,
     .hand = 6,
     .apart = 30,
     .air_not_taken = 2,
     .other_cut = 8,
     .no_cut = 60,
     .unlike = 12},
    {.name = "across the rows",
     .jump = 24,
     .row = 2,
     .stretch = 5,
     .far_row = 3,
     .turn = 7,
     .turn_inside = 20,
     .flat = 2,
     .low_room = 10,
     .air = 6,
     .air_unasked = 20,
     .air_short = 6,
     .hand = 2,
     .apart = 30,
     .air_not_taken = 2,
     .other_cut = 8,
     .no_cut = 60,
     .unlike = 12},
};

static const struct {
  const char* key;
  size_t offset;
} weights[] = {
    {"jump", offsetof(SrPlanStyle, jump)},
    {"row", offsetof(SrPlanStyle, row)},
    {"stretch", offsetof(SrPlanStyle, stretch)},
    {"far_row", offsetof(SrPlanStyle, far_row)},
    {"turn", offsetof(SrPlanStyle, turn)},
    {"turn_inside", offsetof(SrPlanStyle, turn_inside)},
    {"flat", offsetof(SrPlanStyle, flat)},
    {"low_room", offsetof(SrPlanStyle, low_room)},
    {"air", offsetof(SrPlanStyle, air)},
    {"air_unasked", offsetof(SrPlanStyle, air_unasked)},
    {"air_short", offsetof(SrPlanStyle, air_short)},
    {"hand", offsetof(SrPlanStyle, hand)},
    {"apart", offsetof(SrPlanStyle, apart)},
    {"air_not_taken", offsetof(SrPlanStyle, air_not_taken)},
    {"other_cut", offsetof(SrPlanStyle, other_cut)},
    {"no_cut", offsetof(SrPlanStyle, no_cut)},
    {"unlike", offsetof(SrPlanStyle, unlike)},
};
#define WEIGHT_COUNT (sizeof(weights) / sizeof(weights[0]))

SrPlanStyle
sr_plan_style(const size_t index)
{
  return styles[index < SR_PLAN_STYLES ? index : 0];
}

static int*
weight_of(SrPlanStyle* const style, const char* const key)
{
  for (size_t i = 0; i < WEIGHT_COUNT; ++i) {
    if (!strcmp(weights[i].key, key)) {
      return (int*)(void*)((char*)style + weights[i].offset);
    }
  }
  return NULL;
}

static SrStatus
read_weight(SrPlanStyle* const style, const char* const key, const json_t* const value,
            SrError* const error)
{
  int* const weight = weight_of(style, key);
  if (!weight) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "A style has no \"%.40s\". It has jump, row, stretch, far_row, turn, "
                        "turn_inside, flat, low_room, air, air_unasked, air_short, hand, "
                        "apart, air_not_taken, other_cut, no_cut and unlike.",
                        key);
  }
  if (!json_is_integer(value) || json_integer_value(value) < 0 ||
      json_integer_value(value) > MOST_COST) {
    return sr_error_set(error, SR_BAD_SYNTAX, "\"%s\" takes a whole number from 0 to %d.", key,
                        MOST_COST);
  }
  *weight = (int)json_integer_value(value);
  return SR_OK;
}

static SrStatus
read_name(SrPlanStyle* const style, const json_t* const value, SrError* const error)
{
  const char* const name = json_string_value(value);
  if (!name || !name[0] || !sr_utf8_copy_clean(style->name, sizeof(style->name), name)) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "\"name\" takes a text of 1 to %zu bytes without control characters.",
                        sizeof(style->name) - 1);
  }
  return SR_OK;
}

static SrStatus
read_style(json_t* const json, SrPlanStyle* const style, SrError* const error)
{
  const char* const format = json_string_value(json_object_get(json, "format"));
  if (!format || strcmp(format, FORMAT) != 0 ||
      json_integer_value(json_object_get(json, "version")) != 1) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "This is not a style: \"format\" must be \"" FORMAT
                        "\" and \"version\" 1.");
  }
  *style = styles[0];
  snprintf(style->name, sizeof(style->name), "a style of your own");
  const char* key;
  json_t* value;
  SrStatus status = SR_OK;
  json_object_foreach(json, key, value)
  {
    if (!strcmp(key, "format") || !strcmp(key, "version")) {
      continue;
    }
    if (!strcmp(key, "name")) {
      status = read_name(style, value, error);
      if (status != SR_OK) {
        break;
      }
      continue;
    }
    status = read_weight(style, key, value, error);
    if (status != SR_OK) {
      break;
    }
  }
  return status;
}

SrStatus
sr_plan_style_read(const char* const path, SrPlanStyle* const style, SrError* const error)
{
  static const SrInputKind kind = {"style", MOST_BYTES, false};
  char* text = NULL;
  size_t size = 0;
  SrStatus status = sr_input_read(path, &kind, &text, &size, error);
  if (status != SR_OK) {
    return status;
  }
  // Skip the byte order mark some editors write, which is not JSON (RFC 8259, section 8.1)
  const size_t mark = size >= 3 && !memcmp(text, "\xEF\xBB\xBF", 3) ? 3 : 0;
  json_error_t trouble;
  json_t* const json = json_loadb(text + mark, size - mark, JSON_REJECT_DUPLICATES, &trouble);
  free(text);
  if (!json) {
    status = sr_json_refuse(&trouble, path, error);
  } else {
    status = read_style(json, style, error);
    if (status != SR_OK) {
      sr_error_place(error, path, 0, 0);
    }
  }
  json_decref(json);
  return status;
}
