// SPDX-License-Identifier: GPL-3.0-or-later

#include "config_file.h"

#include <steadyreed/preferences.h>

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FORMAT "steadyreed-preferences"
#define LIMIT "takes_limit_bytes"

static const SrConfigFile file = {
    "preferences.json", "preferences", 65536u,
    "no instrument or style counts as chosen, nor a limit for takes; name them again with "
    "--instrument, --style and `progress --limit`."};

/// A value of the file. SR_OK also without one.
static SrStatus
read_value(const json_t* const json, const char* const key, char** const value,
           SrError* const error)
{
  const json_t* const found = json_object_get(json, key);
  if (!found || json_is_null(found)) {
    return SR_OK;
  }
  const char* const text = json_string_value(found);
  if (!text || !text[0] || json_string_length(found) > SR_PREFERENCE_MOST_BYTES) {
    return sr_error_set(error, SR_BAD_SYNTAX, "\"%s\" must be a text of 1 to %u bytes.", key,
                        SR_PREFERENCE_MOST_BYTES);
  }
  *value = strdup(text);
  return *value ? SR_OK
                : sr_error_set(error, SR_NO_MEMORY,
                               "There is not enough memory to read the preferences.");
}

/// The room for takes. SR_OK also without one.
static SrStatus
read_limit(const json_t* const json, uint64_t* const limit, SrError* const error)
{
  const json_t* const found = json_object_get(json, LIMIT);
  if (!found || json_is_null(found)) {
    return SR_OK;
  }
  const json_int_t bytes = json_integer_value(found);
  if (bytes < 1 || (uint64_t)bytes > SR_MOST_TAKES_LIMIT) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "\"" LIMIT "\" must be a whole number of bytes from 1 to 2^53.");
  }
  *limit = (uint64_t)bytes;
  return SR_OK;
}

static SrStatus
read_preferences(const json_t* const json, void* const context, SrError* const error)
{
  SrPreferences* const preferences = (SrPreferences*)context;
  const char* const format = json_string_value(json_object_get(json, "format"));
  if (!format || strcmp(format, FORMAT) != 0 ||
      json_integer_value(json_object_get(json, "version")) != 1) {
    return sr_error_set(error, SR_BAD_SYNTAX,
                        "\"format\" must be \"" FORMAT "\" and \"version\" 1.");
  }
  SrStatus status = read_value(json, "instrument", &preferences->layout, error);
  status = status == SR_OK ? read_value(json, "style", &preferences->style, error) : status;
  return status == SR_OK ? read_limit(json, &preferences->takes_limit, error) : status;
}

SrStatus
sr_preferences_read(SrPreferences* const preferences, SrError* const error)
{
  *preferences = (SrPreferences){NULL, NULL, 0};
  const SrStatus status = sr_config_file_read(&file, read_preferences, preferences, error);
  if (status != SR_OK) {
    sr_preferences_clear(preferences);
  }
  return status;
}

/// Put a value in the place of an older one. `changed` becomes true if it is another.
static SrStatus
replace(char** const older, const char* const value, bool* const changed, SrError* const error)
{
  if (!value || (*older && !strcmp(*older, value))) {
    return SR_OK;
  }
  json_t* const utf8 = json_string(value);
  const bool good = utf8 && value[0] && strlen(value) <= SR_PREFERENCE_MOST_BYTES;
  json_decref(utf8);
  if (!good) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "\"%.80s\" is not UTF-8 or is too long, so it is not kept as your choice.",
                        value);
  }
  char* const copy = strdup(value);
  if (!copy) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to keep the preferences.");
  }
  free(*older);
  *older = copy;
  *changed = true;
  return SR_OK;
}

/// Whether the file is there, whatever it holds.
static bool
exists(void)
{
  char* const path = sr_config_file_path(&file, false);
  const bool there = path && access(path, F_OK) == 0;
  free(path);
  return there;
}

static SrStatus
write_preferences(const SrPreferences* const preferences, SrError* const error)
{
  // s? writes null for NULL
  json_t* const json = json_pack("{s:s, s:i, s:s?, s:s?}", "format", FORMAT, "version", 1,
                                 "instrument", preferences->layout, "style", preferences->style);
  if (json && preferences->takes_limit) {
    json_object_set_new(json, LIMIT, json_integer((json_int_t)preferences->takes_limit));
  }
  return sr_config_file_write(&file, json, error);
}

/// Read what is to be changed.
static SrStatus
read_to_change(SrPreferences* const preferences, SrError* const error)
{
  const SrStatus status = sr_preferences_read(preferences, error);
  // A damaged file has been set aside
  return status != SR_OK && status != SR_NO_MEMORY && !exists() ? SR_OK : status;
}

SrStatus
sr_preferences_keep(const char* const layout, const char* const style, bool* const changed,
                    SrError* const error)
{
  SrPreferences preferences;
  bool other = false;
  SrStatus status = read_to_change(&preferences, error);
  status = status == SR_OK ? replace(&preferences.layout, layout, &other, error) : status;
  status = status == SR_OK ? replace(&preferences.style, style, &other, error) : status;
  if (status == SR_OK && other) {
    status = write_preferences(&preferences, error);
  }
  if (changed) {
    *changed = status == SR_OK && other;
  }
  sr_preferences_clear(&preferences);
  return status;
}

SrStatus
sr_preferences_keep_takes_limit(const uint64_t bytes, SrError* const error)
{
  if (bytes < 1 || bytes > SR_MOST_TAKES_LIMIT) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "That is no room for takes.");
  }
  SrPreferences preferences;
  SrStatus status = read_to_change(&preferences, error);
  if (status == SR_OK && preferences.takes_limit != bytes) {
    preferences.takes_limit = bytes;
    status = write_preferences(&preferences, error);
  }
  sr_preferences_clear(&preferences);
  return status;
}

/// Write the room for takes alone, if there is one. `written` becomes true then.
static SrStatus
keep_limit_alone(bool* const written, SrError* const error)
{
  SrPreferences all;
  SrError damage = {0};
  SrStatus status = SR_OK;
  if (sr_preferences_read(&all, &damage) == SR_OK && all.takes_limit) {
    const SrPreferences limit = {NULL, NULL, all.takes_limit};
    status = write_preferences(&limit, error);
    *written = true;
  }
  sr_preferences_clear(&all);
  return status;
}

SrStatus
sr_preferences_forget(SrError* const error)
{
  char* const path = sr_config_file_path(&file, false);
  SrStatus status = SR_OK;
  bool written = false;
  if (path && access(path, R_OK) != 0 && errno != ENOENT && errno != ENOTDIR) {
    status = sr_error_set(error, SR_NO_PERMISSION,
                          "You are not allowed to read this file, so it is left where it is.");
  } else {
    status = keep_limit_alone(&written, error);
  }
  if (status == SR_OK && !written && path && unlink(path) != 0 && errno != ENOENT &&
      errno != ENOTDIR) {
    status = sr_error_set(error, SR_WRITE_FAILED, "It could not be removed: %s.", strerror(errno));
  }
  if (status != SR_OK) {
    sr_error_place(error, path, 0, 0);
  }
  free(path);
  return status;
}

void
sr_preferences_clear(SrPreferences* const preferences)
{
  free(preferences->layout);
  free(preferences->style);
  *preferences = (SrPreferences){NULL, NULL, 0};
}
