// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/setup.h>

#include <steadyreed/input.h>
#include <steadyreed/output.h>
#include <steadyreed/plan.h>
#include <steadyreed/stream.h>

#include <jansson.h>

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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

/// Size limit of the file, bytes: a profile takes about 100 kB.
#define MOST_BYTES (1u << 20)

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
read_setup(const json_t* const json, SrSetup* const setup, SrError* const error)
{
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

/// Rename a damaged file, so that it is reported once and `setup` can write a new one.
static void
set_aside(const char* const path, SrError* const error)
{
  char* aside = NULL;
  for (unsigned i = 1; i < 100; ++i) {
    if (asprintf(&aside, "%s.damaged-%u", path, i) < 0) {
      return;
    }
    // Unlike rename(), link() does not replace an existing file
    if (!link(path, aside)) {
      unlink(path);
      const char* const name = strrchr(aside, '/');
      const SrError was = *error;
      sr_error_set(error, was.status,
                   "%.300s It was moved to %.100s and nothing counts as measured; run `steadyreed "
                   "setup` again.",
                   was.message, name ? name + 1 : aside);
      sr_error_place(error, path, was.line, was.column);
      free(aside);
      return;
    }
    free(aside);
    if (errno != EEXIST) {
      return;
    }
  }
}

SrStatus
sr_setup_read(SrSetup* const setup, SrError* const error)
{
  clear(setup);
  char* const folder = sr_config_folder(false);
  char* path = NULL;
  if (folder && asprintf(&path, "%s/setup.json", folder) < 0) {
    path = NULL;
  }
  free(folder);
  if (!path) {
    return SR_OK;
  }
  static const SrInputKind kind = {"setup", MOST_BYTES, true};
  SrError why = {0};
  char* text = NULL;
  size_t size = 0;
  SrStatus status = sr_input_read(path, &kind, &text, &size, &why);
  const bool none = status == SR_NOT_FOUND;
  bool damaged = status == SR_TOO_LARGE || status == SR_UNSUPPORTED;
  if (status == SR_OK) {
    json_error_t trouble;
    json_t* const json = json_loadb(text, size, JSON_REJECT_DUPLICATES, &trouble);
    status = json ? read_setup(json, setup, &why)
                  : sr_error_set(&why, SR_BAD_SYNTAX, "This is not JSON: %s.", trouble.text);
    damaged = status != SR_OK;
    if (damaged) {
      sr_setup_clear(setup);
      sr_error_place(&why, path, !json && trouble.line > 0 ? (unsigned)trouble.line : 0, 0);
    }
    json_decref(json);
  }
  free(text);
  if (damaged) {
    set_aside(path, &why);
  }
  if (status != SR_OK && !none && error) {
    *error = why;
  }
  free(path);
  return none ? SR_OK : status;
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

/// Write a file readable by its owner only.
static SrStatus
write_private(const char* const path, const char* const text, SrError* const error)
{
  SrOutput* output = NULL;
  SrStatus status = sr_output_new(path, &output, error);
  if (status == SR_OK) {
    (void)!fchmod(sr_output_descriptor(output), 0600);
    FILE* const stream = sr_output_stream(output);
    if (stream) {
      fprintf(stream, "%s\n", text);
      status = sr_output_finish(output, error);
    } else {
      status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to keep the setup.");
    }
  }
  sr_output_del(output);
  return status;
}

SrStatus
sr_setup_write(const SrSetup* const setup, SrError* const error)
{
  char* const folder = sr_config_folder(true);
  char* path = NULL;
  if (folder && asprintf(&path, "%s/setup.json", folder) < 0) {
    path = NULL;
  }
  SrStatus status = SR_OK;
  if (!path) {
    status = sr_error_set(error, SR_NOT_FOUND,
                          "There is no home folder to keep the setup in. Set HOME or "
                          "XDG_CONFIG_HOME to a folder of your own.");
  }
  json_t* const json = path ? setup_json(setup) : NULL;
  char* const text = json ? json_dumps(json, JSON_INDENT(1) | JSON_REAL_PRECISION(9)) : NULL;
  if (path && !text) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to keep the setup.");
  } else if (path) {
    status = write_private(path, text, error);
  }
  free(text);
  json_decref(json);
  free(path);
  free(folder);
  return status;
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
