// SPDX-License-Identifier: GPL-3.0-or-later

#include "setup_store.h"

#include "config_folder.h"

#include <steadyreed/stream.h>

#include <jansson.h>

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
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

static void
copy_name(const json_t* const json, const char* const key, char name[SR_DEVICE_NAME_SIZE])
{
  const char* const text = json_string_value(json_object_get(json, key));
  snprintf(name, SR_DEVICE_NAME_SIZE, "%s", text ? text : "");
}

static double
number_of(const json_t* const json, const char* const key)
{
  const json_t* const value = json_object_get(json, key);
  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

void
sr_setup_read(SrSetup* const setup)
{
  clear(setup);
  char* const folder = sr_config_folder(false);
  char* path = NULL;
  if (folder && asprintf(&path, "%s/setup.json", folder) < 0) {
    path = NULL;
  }
  json_t* const json = path ? json_load_file(path, 0, NULL) : NULL;
  const char* const format = json_string_value(json_object_get(json, "format"));
  if (format && !strcmp(format, FORMAT)) {
    copy_name(json, "input", setup->input);
    copy_name(json, "output", setup->output);
    // With other buffers it was another
    if (fabs(number_of(json, "output_latency_s") - SR_OUTPUT_LATENCY_S) < 1e-6) {
      setup->round_trip_s = number_of(json, "round_trip_s");
      setup->round_trip_spread_s = number_of(json, "round_trip_spread_s");
    }
    setup->floor_dbfs = number_of(json, "floor_dbfs");
    setup->bellows_at_a4 = number_of(json, "bellows_at_a4");
    setup->bellows_power = number_of(json, "bellows_power");
    setup->bellows_uncertainty = number_of(json, "bellows_uncertainty");
    char* const profile = json_dumps(json_object_get(json, "profile"), 0);
    if (profile) {
      sr_profile_read_text(profile, &setup->profile, NULL);
    }
    free(profile);
  }
  json_decref(json);
  free(path);
  free(folder);
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

/// Write beside and rename, so that there is always a whole one.
static bool
replace_file(const char* const path, const char* const text)
{
  char* beside = NULL;
  if (asprintf(&beside, "%s.new", path) < 0) {
    return false;
  }
  unlink(beside);
  const int descriptor = open(beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
  FILE* const file = descriptor < 0 ? NULL : fdopen(descriptor, "w");
  bool written = file && fputs(text, file) >= 0 && fputc('\n', file) != EOF;
  // On the disk before it takes the place of the old; some file systems know no fsync()
  written = written && fflush(file) == 0 && (fsync(descriptor) == 0 || errno == EINVAL);
  if (file) {
    written = fclose(file) == 0 && written;
  } else if (descriptor >= 0) {
    close(descriptor);
  }
  written = written && rename(beside, path) == 0;
  const int reason = errno;
  if (!written) {
    unlink(beside);
  }
  free(beside);
  errno = reason;
  return written;
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
  } else if (path && !replace_file(path, text)) {
    status = sr_error_set(error, SR_WRITE_FAILED, "The setup could not be written: %s.",
                          strerror(errno));
    sr_error_place(error, path, 0, 0);
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
