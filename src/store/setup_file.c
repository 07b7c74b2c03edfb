// SPDX-License-Identifier: GPL-3.0-or-later

#include "config_file.h"

#include <steadyreed/plan.h>
#include <steadyreed/setup.h>
#include <steadyreed/stream.h>

#include <jansson.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FORMAT "steadyreed-setup"

static void
clear(SrSetup* const setup)
{
  *setup = (SrSetup){.round_trip_s = (double)NAN,
                     .round_trip_spread_s = (double)NAN,
                     .floor_dbfs = (double)NAN,
                     .bellows_at_a4 = (double)NAN,
                     .bellows_power = (double)NAN,
                     .bellows_uncertainty = (double)NAN};
}

// A profile takes about 100 kB
static const SrConfigFile file = {"setup.json", "setup", 1u << 20,
                                  "nothing counts as measured; run `steadyreed setup` again."};

/// One number of the file and its range.
typedef struct {
  const char* key;
  double least;
  double most;
} Range;

static const Range ranges[] = {
    {"output_latency_s", 0.0, 10.0},           {"round_trip_s", 0.0, 10.0},
    {"round_trip_spread_s", 0.0, 10.0},        {"floor_dbfs", -300.0, 20.0},
    {"bellows_at_a4", 0.01, SR_BELLOWS_UNITS}, {"bellows_power", -2.0, 2.0},
    {"bellows_uncertainty", 0.0, 1000.0}};

static double
number_of(const json_t* const json, const char* const key)
{
  const json_t* const value = json_object_get(json, key);
  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

/// Check that all numbers are present or null, and in range.
static SrStatus
check_numbers(const json_t* const json, SrError* const error)
{
  for (size_t i = 0; i < sizeof(ranges) / sizeof(ranges[0]); ++i) {
    const json_t* const value = json_object_get(json, ranges[i].key);
    const double number = number_of(json, ranges[i].key);
    if (value && !json_is_null(value) && !(number >= ranges[i].least && number <= ranges[i].most)) {
      return sr_error_set(error, SR_BAD_SYNTAX, "\"%s\" must be a number from %g to %g.",
                          ranges[i].key, ranges[i].least, ranges[i].most);
    }
  }
  return SR_OK;
}

static SrStatus
copy_name(const json_t* const json, const char* const key, char name[SR_DEVICE_NAME_SIZE],
          SrError* const error)
{
  const json_t* const value = json_object_get(json, key);
  if (value && !json_is_string(value)) {
    return sr_error_set(error, SR_BAD_SYNTAX, "\"%s\" must be the name of a device.", key);
  }
  snprintf(name, SR_DEVICE_NAME_SIZE, "%s", value ? json_string_value(value) : "");
  return SR_OK;
}

static SrStatus
read_profile(const json_t* const json, SrProfile** const profile, SrError* const error)
{
  const json_t* const value = json_object_get(json, "profile");
  if (!value || json_is_null(value)) {
    return SR_OK;
  }
  char* const text = json_dumps(value, JSON_ENCODE_ANY);
  const bool read = text && sr_profile_read_text(text, profile, NULL) == SR_OK;
  free(text);
  return read ? SR_OK
              : sr_error_set(error, SR_BAD_SYNTAX, "\"profile\" is not an instrument profile.");
}

static SrStatus
read_setup(const json_t* const json, void* const context, SrError* const error)
{
  SrSetup* const setup = (SrSetup*)context;
  const char* const format = json_string_value(json_object_get(json, "format"));
  if (!format || strcmp(format, FORMAT) != 0 ||
      json_integer_value(json_object_get(json, "version")) != 1) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "\"format\" must be \"" FORMAT "\" and \"version\" 1.");
  }
  SrStatus status = check_numbers(json, error);
  status = status == SR_OK ? copy_name(json, "input", setup->input, error) : status;
  status = status == SR_OK ? copy_name(json, "output", setup->output, error) : status;
  status = status == SR_OK ? read_profile(json, &setup->profile, error) : status;
  if (status != SR_OK) {
    return status;
  }
  // The round trip is different with other buffers
  if (fabs(number_of(json, "output_latency_s") - SR_OUTPUT_LATENCY_S) < 1e-6) {
    setup->round_trip_s = number_of(json, "round_trip_s");
    setup->round_trip_spread_s = number_of(json, "round_trip_spread_s");
  }
  setup->floor_dbfs = number_of(json, "floor_dbfs");
  setup->bellows_at_a4 = number_of(json, "bellows_at_a4");
  setup->bellows_power = number_of(json, "bellows_power");
  setup->bellows_uncertainty = number_of(json, "bellows_uncertainty");
  return SR_OK;
}

SrStatus
sr_setup_read(SrSetup* const setup, SrError* const error)
{
  clear(setup);
  const SrStatus status = sr_config_file_read(&file, read_setup, setup, error);
  if (status != SR_OK) {
    sr_setup_clear(setup);
  }
  return status;
}

static json_t*
number_or_null(const double value)
{
  return isfinite(value) ? json_real(value) : json_null();
}

static json_t*
setup_json(const SrSetup* const setup)
{
  char* const text = setup->profile ? sr_profile_text(setup->profile) : NULL;
  json_t* const profile = text ? json_loads(text, 0, NULL) : NULL;
  free(text);
  return json_pack(
      "{s:s, s:i, s:s, s:s, s:f, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "format", FORMAT, "version",
      1, "input", setup->input, "output", setup->output, "output_latency_s", SR_OUTPUT_LATENCY_S,
      "round_trip_s", number_or_null(setup->round_trip_s), "round_trip_spread_s",
      number_or_null(setup->round_trip_spread_s), "floor_dbfs", number_or_null(setup->floor_dbfs),
      "bellows_at_a4", number_or_null(setup->bellows_at_a4), "bellows_power",
      number_or_null(setup->bellows_power), "bellows_uncertainty",
      number_or_null(setup->bellows_uncertainty), "profile", profile ? profile : json_null());
}

SrStatus
sr_setup_write(const SrSetup* const setup, SrError* const error)
{
  return sr_config_file_write(&file, setup_json(setup), error);
}

void
sr_setup_clear(SrSetup* const setup)
{
  sr_profile_del(setup->profile);
  clear(setup);
}

double
sr_setup_round_trip_s(const SrSetup* const setup, const char* const input, const char* const output)
{
  const bool same = setup->input[0] && !strcmp(setup->input, input) && output[0] &&
                    !strcmp(setup->output, output);
  return same ? setup->round_trip_s : (double)NAN;
}
