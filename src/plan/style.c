// SPDX-License-Identifier: GPL-3.0-or-later

#include "json_trouble.h"
#include "pitch_name.h"

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

#define P(name)                                                                                    \
  {                                                                                                \
    name, SR_DIRECTION_PRESS                                                                       \
  }
#define D(name)                                                                                    \
  {                                                                                                \
    name, SR_DIRECTION_DRAW                                                                        \
  }

// Common practice, no source. Across the rows: each note has a usual button, the strong fingers
// have the melody, and the bellows turn as they must. Along the rows: the fingers stay in a row and
// the bellows turn as needed.
static const SrPlanStyle styles[SR_PLAN_STYLES] = {
    {.name = "across the rows",
     .second = 9,
     .away = 16,
     .jump = 24,
     .row = 1,
     .ring = 2,
     .little = 5,
     .other_finger = 18,
     .far_row = 3,
     .turn = 6,
     .turn_held = 2,
     .flat = 4,
     .apart = 20,
     .again = 0,
     .low_room = 10,
     .air = 6,
     .air_unasked = 20,
     .air_short = 6,
     .air_not_taken = 2,
     .unlike = 12,
     .cut_ring = 12,
     .cut_little = 40,
     .cut_row = 1,
     .cut_hand = 8,
     .cut_step = 1,
     .cut_left = 100,
     .pitch_count = 24,
     .pitches = {{55, {P("L2-2"), D("L2-1")}},
                 {57, {D("L1-1"), P("L3-2")}},
                 {59, {P("L1-1"), D("L2-2")}},
                 {60, {P("L2-3")}},
                 {62, {D("L2-3"), P("L1-2")}},
                 {64, {P("L2-4")}},
                 {65, {D("L2-4")}},
                 {66, {D("L1-2")}},
                 {67, {P("L2-5"), P("L1-3"), D("L3-4")}},
                 {69, {D("L2-5"), D("L1-3"), P("L3-4")}},
                 {71, {D("R2-1"), P("L1-4")}},
                 {72, {D("L1-4"), P("R2-1")}},
                 {73, {P("R3-1"), P("R3-2"), D("R3-1")}},
                 {74, {D("R2-2"), P("L1-5")}},
                 {76, {P("R2-2"), D("L1-5")}},
                 {77, {D("R2-3")}},
                 {78, {D("R1-1")}},
                 {79, {P("R1-1"), P("R2-3"), D("R3-2")}},
                 {81, {D("R1-2"), P("R3-2"), D("R2-4")}},
                 {83, {P("R1-2"), D("R2-5")}},
                 {84, {D("R1-3"), P("R2-4")}},
                 {86, {P("R1-3"), D("R3-5")}},
                 {88, {D("R1-4"), P("R2-5")}},
                 {90, {D("R1-5")}}}},
    {.name = "along the rows",
     .second = 0,
     .away = 0,
     .jump = 24,
     .row = 12,
     .ring = 0,
     .little = 5,
     .other_finger = 18,
     .far_row = 14,
     .turn = 2,
     .turn_held = 1,
     .flat = 4,
     .apart = 30,
     .again = 0,
     .low_room = 10,
     .air = 6,
     .air_unasked = 20,
     .air_short = 6,
     .air_not_taken = 2,
     .unlike = 12,
     .cut_ring = 12,
     .cut_little = 40,
     .cut_row = 2,
     .cut_hand = 8,
     .cut_step = 1,
     .cut_left = 100},
};

#undef P
#undef D

static const struct {
  const char* key;
  size_t offset;
} weights[] = {
    {"second", offsetof(SrPlanStyle, second)},
    {"away", offsetof(SrPlanStyle, away)},
    {"jump", offsetof(SrPlanStyle, jump)},
    {"row", offsetof(SrPlanStyle, row)},
    {"ring", offsetof(SrPlanStyle, ring)},
    {"little", offsetof(SrPlanStyle, little)},
    {"other_finger", offsetof(SrPlanStyle, other_finger)},
    {"far_row", offsetof(SrPlanStyle, far_row)},
    {"turn", offsetof(SrPlanStyle, turn)},
    {"turn_held", offsetof(SrPlanStyle, turn_held)},
    {"flat", offsetof(SrPlanStyle, flat)},
    {"apart", offsetof(SrPlanStyle, apart)},
    {"again", offsetof(SrPlanStyle, again)},
    {"low_room", offsetof(SrPlanStyle, low_room)},
    {"air", offsetof(SrPlanStyle, air)},
    {"air_unasked", offsetof(SrPlanStyle, air_unasked)},
    {"air_short", offsetof(SrPlanStyle, air_short)},
    {"air_not_taken", offsetof(SrPlanStyle, air_not_taken)},
    {"unlike", offsetof(SrPlanStyle, unlike)},
    {"cut_ring", offsetof(SrPlanStyle, cut_ring)},
    {"cut_little", offsetof(SrPlanStyle, cut_little)},
    {"cut_row", offsetof(SrPlanStyle, cut_row)},
    {"cut_hand", offsetof(SrPlanStyle, cut_hand)},
    {"cut_step", offsetof(SrPlanStyle, cut_step)},
    {"cut_left", offsetof(SrPlanStyle, cut_left)},
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
refuse_key(const char* const key, SrError* const error)
{
  char keys[512] = "name, homes";
  for (size_t i = 0; i < WEIGHT_COUNT; ++i) {
    const size_t at = strlen(keys);
    snprintf(keys + at, sizeof(keys) - at, "%s%s", i + 1 < WEIGHT_COUNT ? ", " : " and ",
             weights[i].key);
  }
  return sr_error_set(error, SR_BAD_SYNTAX, "A style has no \"%.40s\". It has %s.", key, keys);
}

static SrStatus
read_weight(SrPlanStyle* const style, const char* const key, const json_t* const value,
            SrError* const error)
{
  int* const weight = weight_of(style, key);
  if (!weight) {
    return refuse_key(key, error);
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

/// Read one home, such as "L2-5 draw".
static bool
read_home(const char* const text, SrHome* const home)
{
  const char* const space = text ? strchr(text, ' ') : NULL;
  const size_t length = space ? (size_t)(space - text) : 0;
  if (length == 0 || length >= sizeof(home->button)) {
    return false;
  }
  memcpy(home->button, text, length);
  home->button[length] = '\0';
  home->direction = strcmp(space + 1, "press") == 0  ? SR_DIRECTION_PRESS
                    : strcmp(space + 1, "draw") == 0 ? SR_DIRECTION_DRAW
                                                     : SR_DIRECTION_FREE;
  return home->direction != SR_DIRECTION_FREE;
}

static SrStatus
read_homes(SrPlanStyle* const style, json_t* const value, SrError* const error)
{
  if (!json_is_object(value) || json_object_size(value) > SR_MOST_HOMES) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "\"homes\" takes an object with at most %d pitches, such as {\"A4\": "
                        "[\"L2-5 draw\"]}.",
                        SR_MOST_HOMES);
  }
  style->pitch_count = 0;
  const char* key;
  json_t* list;
  json_object_foreach(value, key, list)
  {
    SrPitchHomes* const pitch = &style->pitches[style->pitch_count++];
    *pitch = (SrPitchHomes){0};
    const size_t count = json_array_size(list);
    bool good = sr_pitch_name_midi(key, &pitch->midi) && count >= 1 && count <= SR_HOMES_EACH;
    for (size_t h = 0; good && h < count; ++h) {
      good = read_home(json_string_value(json_array_get(list, h)), &pitch->homes[h]);
    }
    if (!good) {
      return sr_error_set(error, SR_BAD_SYNTAX,
                          "The homes of \"%.20s\": write a pitch and 1 to %d buttons with their "
                          "directions, such as \"A4\": [\"L2-5 draw\", \"L1-3 draw\"].",
                          key, SR_HOMES_EACH);
    }
  }
  return SR_OK;
}

static SrStatus
read_style(json_t* const json, SrPlanStyle* const style, SrError* const error)
{
  const char* const format = json_string_value(json_object_get(json, "format"));
  const json_int_t version = json_integer_value(json_object_get(json, "version"));
  if (format && !strcmp(format, FORMAT) && version == 1) {
    return sr_error_set(error, SR_UNSUPPORTED,
                        "This style is of version 1, whose weights meant something else. Copy a "
                        "shipped style of version 2 and change that.");
  }
  if (!format || strcmp(format, FORMAT) != 0 || version != 2) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "This is not a style: \"format\" must be \"" FORMAT
                        "\" and \"version\" 2.");
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
    status = !strcmp(key, "homes") ? read_homes(style, value, error)
                                   : read_weight(style, key, value, error);
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
