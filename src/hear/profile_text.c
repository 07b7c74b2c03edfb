// SPDX-License-Identifier: GPL-3.0-or-later

// A profile as JSON text, so that an instrument is still known the next day.

#include "profile.h"

#include "tuning.h"

#include <jansson.h>

#include <math.h>
#include <string.h>

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

/// A number of an object within bounds; false if absent or out of bounds.
static bool
number(const json_t* const object, const char* const key, const double least, const double most,
       double* const value)
{
  const json_t* const found = json_object_get(object, key);
  *value = json_is_number(found) ? json_number_value(found) : (double)NAN;
  return *value >= least && *value <= most;
}

/// An array of exactly `count` numbers within bounds; false otherwise.
static bool
number_array(const json_t* const array, const size_t count, const double least, const double most,
             double* const values)
{
  bool good = json_is_array(array) && json_array_size(array) == count;
  for (size_t i = 0; good && i < count; ++i) {
    const json_t* const found = json_array_get(array, i);
    values[i] = json_number_value(found);
    good = json_is_number(found) && values[i] >= least && values[i] <= most;
  }
  return good;
}

static bool
flag(const json_t* const object, const char* const key, bool* const value)
{
  const json_t* const found = json_object_get(object, key);
  *value = json_is_true(found);
  return json_is_boolean(found);
}

static bool
read_reed(const json_t* const json, SrProfile* const profile)
{
  double midi;
  double cents;
  double heard;
  double harmonics[SR_HARMONICS];
  SrReed reed = {.learnt = true};
  if (!number(json, "midi", SR_LOWEST_MIDI, SR_HIGHEST_MIDI, &midi) ||
      !flag(json, "doubled", &reed.doubled) || !number(json, "cents", -200.0, 200.0, &cents) ||
      !number(json, "heard_s", 0.0, 1e9, &heard) ||
      !number(json, "lag_frames", -100.0, 100.0, &reed.lag_frames) ||
      !number(json, "lag_count", 0.0, 1e6, &reed.lag_count) ||
      !number_array(json_object_get(json, "harmonics"), SR_HARMONICS, 0.0, 1.0, harmonics)) {
    return false;
  }
  reed.cents = (float)cents;
  reed.weight = (float)heard;
  double sum = 0.0;
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    reed.amplitude[k] = (float)harmonics[k];
    sum += harmonics[k];
  }
  if (!(sum > 0.5 && sum < 1.5)) {
    return false;
  }
  profile->reeds[(size_t)midi - SR_LOWEST_MIDI] = reed;
  return true;
}

/// The room, which may have changed; optional in a profile.
static bool
read_room(const json_t* const json, SrProfile* const profile)
{
  const json_t* const tail = json_object_get(json, "tail_db");
  const json_t* const floor = json_object_get(json, "floor");
  double count;
  if (tail && (!number_array(tail, SR_TAIL_FRAMES, -1e3, 1e3, profile->tail_db) ||
               !number(json, "tail_count", 0.0, 1e6, &count))) {
    return false;
  }
  for (size_t i = 0; tail && i < SR_TAIL_FRAMES; ++i) {
    profile->tail_db[i] = fmin(fmax(profile->tail_db[i], 0.0), 60.0);
  }
  if (tail) {
    // Today's room soon outweighs the stored one
    profile->tail_count = fmin(count, 2.0);
  }
  double points[SR_FLOOR_POINTS];
  if (floor && !number_array(floor, SR_FLOOR_POINTS, 0.0, 1e3, points)) {
    return false;
  }
  for (size_t i = 0; floor && i < SR_FLOOR_POINTS; ++i) {
    profile->floor[i] = (float)fmin(fmax(points[i], 1e-7), 0.1);
  }
  return true;
}

SrStatus
sr_profile_read_text(const char* const text, SrProfile** const profile, SrError* const error)
{
  *profile = NULL;
  json_t* const json = json_loads(text, 0, NULL);
  const char* const format = json_string_value(json_object_get(json, "format"));
  double version;
  double reference_hz;
  const bool ours = format && !strcmp(format, FORMAT) &&
                    number(json, "version", 1.0, 1.0, &version) &&
                    number(json, "reference_hz", 380.0, 500.0, &reference_hz);
  SrProfile* const read = ours ? sr_profile_new(reference_hz) : NULL;
  const json_t* const reeds = json_object_get(json, "reeds");
  bool good = read && json_is_array(reeds);
  for (size_t i = 0; good && i < json_array_size(reeds); ++i) {
    good = read_reed(json_array_get(reeds, i), read);
  }
  good = good && flag(json, "doubled", &read->doubled) && read_room(json, read);
  if (good) {
    sr_profile_fill(read);
  }
  json_decref(json);
  if (!good) {
    sr_profile_del(read);
    return sr_error_set(
        error, ours && !read ? SR_NO_MEMORY : SR_BAD_SYNTAX,
        "The saved profile of the instrument cannot be read. Run `steadyreed setup` again.");
  }
  *profile = read;
  return SR_OK;
}
