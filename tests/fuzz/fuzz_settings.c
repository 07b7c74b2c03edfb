// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fuzz_settings.c
   Entry for a coverage-guided fuzzer (libFuzzer) into what else is read as JSON: styles, what
   `setup` kept with its profile, what was chosen, and the assessment behind `plan --after`. Built
   with STANDALONE it runs over the files it is given, whole, cut off, and with each byte changed.

   The first byte chooses the reader, the rest is the text. What is read must lie in its range; what
   is refused must say why.
*/

#include "kept_files.h"
#include "past_faults.h"

#include "../support/clean_text.h"

#include <steadyreed/hear.h>
#include <steadyreed/plan.h>
#include <steadyreed/preferences.h>
#include <steadyreed/setup.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

/// Notes of the phrase that an assessment must be of.
#define NOTES 3

static void
demand(const bool holds, const char* const what)
{
  if (!holds) {
    fprintf(stderr, "%s\n", what);
    abort();
  }
}

/// An error and a status belong together, and its words can be shown.
static void
look_at(const SrStatus status, const SrError* const error)
{
  demand(status == error->status, "a status and another in the error");
  demand(status == SR_OK || error->message[0], "refused without a word");
  demand(sr_test_is_clean_text(error->message), "an error that is not clean UTF-8");
}

static void
read_style(const char* const path)
{
  SrPlanStyle style = sr_plan_style(0);
  SrError error = {0};
  const SrStatus status = sr_plan_style_read(path, &style, &error);
  look_at(status, &error);
  if (status == SR_OK) {
    demand(sr_test_is_clean_text(style.name), "a name that is not clean UTF-8");
    demand(style.jump >= 0 && style.unlike >= 0 && style.cut_left >= 0, "a cost below nothing");
  }
}

static void
read_after(const char* const path)
{
  double hard[NOTES] = {0.0};
  SrError error = {0};
  look_at(sr_past_faults_add(path, NOTES, hard, &error), &error);
  for (int i = 0; i < NOTES; ++i) {
    demand(hard[i] >= 0.0 && hard[i] < 1000.0, "a hardness out of range");
  }
}

/// The folder of settings of this process.
static const char*
settings_folder(void)
{
  static char folder[] = "/tmp/steadyreed-settings-XXXXXX";
  static bool made = false;
  if (!made) {
    demand(mkdtemp(folder) != NULL, "no folder for settings");
    char inner[64];
    snprintf(inner, sizeof(inner), "%s/steadyreed", folder);
    demand(!mkdir(inner, 0700), "no folder for settings");
    setenv("XDG_CONFIG_HOME", folder, 1);
    made = true;
  }
  return folder;
}

static void
remove_settings(void)
{
  static const char* const names[] = {"/steadyreed/setup.json",
                                      "/steadyreed/setup.json.damaged-1",
                                      "/steadyreed/preferences.json",
                                      "/steadyreed/preferences.json.damaged-1",
                                      "/steadyreed",
                                      ""};
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    char path[80];
    snprintf(path, sizeof(path), "%s%s", settings_folder(), names[i]);
    (void)!remove(path);
  }
}

/// Put a text in the place of a file of settings. `path` receives its name.
static void
put_settings(const char* const name, const uint8_t* const data, const size_t size, char path[80])
{
  snprintf(path, 80, "%s/steadyreed/%s", settings_folder(), name);
  FILE* const file = fopen(path, "wb");
  demand(file != NULL, "no file for settings");
  fwrite(data, 1, size, file);
  fclose(file);
}

static void
look_aside(const char* const path, const SrStatus status)
{
  char aside[96];
  snprintf(aside, sizeof(aside), "%s.damaged-1", path);
  demand((status == SR_OK) == (unlink(aside) != 0), "a damaged file is set aside, a good one not");
}

static void
read_preferences(const uint8_t* const data, const size_t size)
{
  char path[80];
  put_settings("preferences.json", data, size, path);
  SrPreferences chosen;
  SrError error = {0};
  const SrStatus status = sr_preferences_read(&chosen, &error);
  look_at(status, &error);
  demand(status == SR_OK || (!chosen.layout && !chosen.style), "a choice from a damaged file");
  demand(!chosen.layout || (chosen.layout[0] && strlen(chosen.layout) <= SR_PREFERENCE_MOST_BYTES),
         "a layout of no name, or of one too long");
  demand(!chosen.style || (chosen.style[0] && strlen(chosen.style) <= SR_PREFERENCE_MOST_BYTES),
         "a style of no name, or of one too long");
  sr_preferences_clear(&chosen);
  look_aside(path, status);
}

static void
read_setup(const uint8_t* const data, const size_t size)
{
  char path[80];
  put_settings("setup.json", data, size, path);
  SrSetup setup;
  SrError error = {0};
  const SrStatus status = sr_setup_read(&setup, &error);
  look_at(status, &error);
  demand(status == SR_OK || !setup.profile, "a profile of a damaged file");
  demand(isnan(setup.round_trip_s) || (setup.round_trip_s >= 0.0 && setup.round_trip_s <= 10.0),
         "a round trip out of range");
  if (setup.profile) {
    const double reference_hz = sr_profile_reference_hz(setup.profile);
    demand(reference_hz > 200.0 && reference_hz < 900.0, "a wild reference");
    // What was read can be written, and read again
    char* const text = sr_profile_text(setup.profile);
    SrProfile* again = NULL;
    demand(text && sr_profile_read_text(text, &again, &error) == SR_OK, "a profile not read again");
    sr_profile_del(again);
    free(text);
  }
  sr_setup_clear(&setup);
  look_aside(path, status);
}

int
LLVMFuzzerTestOneInput(const uint8_t* const data, const size_t size)
{
  if (size == 0) {
    return 0;
  }
  // A digit, so that the kept files can be read and written by hand
  const int reader = data[0] % 4;
  if (reader >= 2) {
    (reader == 2 ? read_setup : read_preferences)(data + 1, size - 1);
    return 0;
  }
  const int descriptor = memfd_create("settings", MFD_CLOEXEC);
  char path[64];
  snprintf(path, sizeof(path), "/proc/self/fd/%d", descriptor);
  demand(descriptor >= 0 && write(descriptor, data + 1, size - 1) == (ssize_t)(size - 1),
         "no memory for it");
  if (reader == 0) {
    read_style(path);
  } else {
    read_after(path);
  }
  close(descriptor);
  return 0;
}

int LLVMFuzzerInitialize(int* argc, char*** argv);

int
LLVMFuzzerInitialize(int* const argc, char*** const argv)
{
  (void)argc;
  (void)argv;
  atexit(remove_settings);
  return 0;
}

#ifdef STANDALONE
/// Cut off, and with each byte of it changed.
static void
break_and_change(uint8_t* const data, const size_t size)
{
  // A profile is long, and mostly of one kind of number
  sr_test_break_and_change(data, size, 1 + size / 997);
}

int
main(int argc, char** argv)
{
  LLVMFuzzerInitialize(&argc, &argv);
  return sr_test_kept_files(argc, argv, break_and_change);
}
#endif
