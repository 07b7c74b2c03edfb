// SPDX-License-Identifier: GPL-3.0-or-later

// A profile as JSON text, so that an instrument is known the next day too.

#include "profile.h"

#include <jansson.h>

#include <math.h>
#include <string.h>

#define FORMAT "steadyreed-profile"

static json_t*
numbers(const double* const values, const size_t count)
{
  json_t* const array = json_array();
  for (size_t i = 0; array && i < count; ++i) {
    json_array_append_new(array, json_real(isfinite(values[i]) ? values[i] : 0.0));
  }
  return array;
}

static json_t*
floats(const float* const values, const size_t count)
{
  json_t* const array = json_array();
  for (size_t i = 0; array && i < count; ++i) {
    json_array_append_new(array, json_real(isfinite(values[i]) ? (double)values[i] : 0.0));
  }
  return array;
}

static json_t*
reed_json(const SrReed* const reed, const size_t pitch)
{
  json_t* const amplitude = floats(reed->amplitude, SR_HARMONICS);
  return json_pack("{s:i, s:b, s:f, s:f, s:f, s:f, s:o}", "midi", SR_LOWEST_MIDI + (int)pitch,
                   "doubled", (int)reed->doubled, "cents", (double)reed->cents, "heard_s",
                   (double)reed->weight, "lag_frames", reed->lag_frames, "lag_count",
                   reed->lag_count, "harmonics", amplitude);
}

char*
sr_profile_text(const SrProfile* const profile)
{
  json_t* const reeds = json_array();
  for (size_t p = 0; reeds && p < SR_PITCHES; ++p) {
    if (profile->reeds[p].learnt) {
      json_array_append_new(reeds, reed_json(&profile->reeds[p], p));
    }
  }
  json_t* const json =
      json_pack("{s:s, s:i, s:f, s:b, s:o, s:o, s:f, s:o}", "format", FORMAT, "version", 1,
                "reference_hz", profile->reference_hz, "doubled", (int)profile->doubled, "reeds",
                reeds, "tail_db", numbers(profile->tail_db, SR_TAIL_FRAMES), "tail_count",
                profile->tail_count, "floor", floats(profile->floor, SR_FLOOR_POINTS));
  char* const text = json ? json_dumps(json, JSON_INDENT(1) | JSON_REAL_PRECISION(6)) : NULL;
  json_decref(json);
  return text;
}

/// A number of an object within bounds; false if there is none such.
static bool
number(const json_t* const object, const char* const key, const double least, const double most,
       double* const value)
{
  const json_t* const found = json_object_get(object, key);
  *value = json_is_number(found) ? json_number_value(found) : (double)NAN;
  return *value >= least && *value <= most;
}

static bool
read_reed(const json_t* const json, SrProfile* const profile)
{
  double midi;
  double cents;
  double heard;
  double lag;
  double count;
  const json_t* const harmonics = json_object_get(json, "harmonics");
  if (!number(json, "midi", SR_LOWEST_MIDI, SR_HIGHEST_MIDI, &midi) ||
      !number(json, "cents", -200.0, 200.0, &cents) || !number(json, "heard_s", 0.0, 1e9, &heard) ||
      !number(json, "lag_frames", -100.0, 100.0, &lag) ||
      !number(json, "lag_count", 0.0, 1e6, &count) || json_array_size(harmonics) != SR_HARMONICS) {
    return false;
  }
  SrReed reed = {.learnt = true,
                 .doubled = json_is_true(json_object_get(json, "doubled")),
                 .cents = (float)cents,
                 .weight = (float)heard,
                 .lag_frames = lag,
                 .lag_count = count};
  double sum = 0.0;
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    const double value = json_number_value(json_array_get(harmonics, k));
    if (!(value >= 0.0 && value <= 1.0)) {
      return false;
    }
    reed.amplitude[k] = (float)value;
    sum += value;
  }
  if (!(sum > 0.5 && sum < 1.5)) {
    return false;
  }
  profile->reeds[(size_t)midi - SR_LOWEST_MIDI] = reed;
  return true;
}

/// The room, which may be another by now: only where the counts fit.
static void
read_room(const json_t* const json, SrProfile* const profile)
{
  const json_t* const tail = json_object_get(json, "tail_db");
  const json_t* const floor = json_object_get(json, "floor");
  double count;
  if (json_array_size(tail) == SR_TAIL_FRAMES && number(json, "tail_count", 0.0, 1e6, &count)) {
    for (size_t i = 0; i < SR_TAIL_FRAMES; ++i) {
      const double value = json_number_value(json_array_get(tail, i));
      profile->tail_db[i] = fmin(fmax(value, 0.0), 60.0);
    }
    // It is the room that was; what is heard today soon outweighs it
    profile->tail_count = fmin(count, 2.0);
  }
  if (json_array_size(floor) == SR_FLOOR_POINTS) {
    for (size_t i = 0; i < SR_FLOOR_POINTS; ++i) {
      const double value = json_number_value(json_array_get(floor, i));
      profile->floor[i] = (float)fmin(fmax(value, 1e-7), 0.1);
    }
  }
}

SrStatus
sr_profile_read_text(const char* const text, SrProfile** const profile, SrError* const error)
{
  *profile = NULL;
  json_t* const json = json_loads(text, 0, NULL);
  const char* const format = json_string_value(json_object_get(json, "format"));
  double reference_hz;
  const bool ours = format && !strcmp(format, FORMAT) &&
                    number(json, "reference_hz", 380.0, 500.0, &reference_hz);
  SrProfile* const read = ours ? sr_profile_new(reference_hz) : NULL;
  bool good = read != NULL;
  const json_t* const reeds = json_object_get(json, "reeds");
  for (size_t i = 0; good && i < json_array_size(reeds); ++i) {
    good = read_reed(json_array_get(reeds, i), read);
  }
  if (good) {
    read->doubled = json_is_true(json_object_get(json, "doubled"));
    read_room(json, read);
    sr_profile_fill(read);
  }
  json_decref(json);
  if (!good) {
    sr_profile_del(read);
    return sr_error_set(error, ours && !read ? SR_NO_MEMORY : SR_BAD_SYNTAX,
                        "What is kept of the instrument cannot be read. Run `steadyreed setup` "
                        "again.");
  }
  *profile = read;
  return SR_OK;
}
