// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_practise.c
   `steadyreed practise` from end to end: takes with known faults are played on a sound server of
   our own, and heard through its monitor.

   usage: test_practise PROGRAM MAKE_TAKE SOURCE_TREE [PART OF A SCENE'S NAME]

   `--core` instead of a name runs a few, two at a time: under a sanitizer everything takes
   several times as long, and the others would test only how busy the machine is.
*/

#include "scenes.h"
#include "sitting.h"

#include <steadyreed/stream.h>

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Whether ALSA knows a device that leads to the server.
static bool
leads_to_server(void)
{
  SoundServer server;
  if (!server_begin(&server)) {
    return false;
  }
  SrDevice* devices = NULL;
  size_t count = 0;
  bool found = false;
  if (sr_devices_list(&devices, &count, NULL) == SR_OK) {
    for (size_t i = 0; i < count; ++i) {
      found = found || (strcmp(devices[i].name, "default") == 0 && devices[i].usual_input);
    }
  }
  free(devices);
  server_end(&server, SIGTERM);
  return found;
}

int
main(const int argc, char** const argv)
{
  if (argc < 4) {
    fputs("usage: test_practise PROGRAM MAKE_TAKE SOURCE_TREE [PART OF A SCENE'S NAME|--core]\n",
          stderr);
    return 2;
  }
  if (!has_program("pulseaudio") || !has_program("paplay") || !has_program("parec") ||
      !has_program("pactl")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  if (!leads_to_server()) {
    printf("skipped: ALSA's default does not lead to PulseAudio (Debian's libasound2-plugins)\n");
    return 77;
  }
  test_program = argv[1];
  test_make_take = argv[2];
  test_source = argv[3];
  const char* const wanted = argc > 4 ? argv[4] : NULL;
  const bool core = wanted && !strcmp(wanted, "--core");
  const struct {
    const Scene* scenes;
    size_t count;
  } parts[] = {{scenes_trouble, scenes_trouble_count}, // the longest is among them
               {scenes_same, scenes_same_count},       {scenes_click, scenes_click_count},
               {scenes_history, scenes_history_count}, {scenes_hands, scenes_hands_count},
               {scenes_series, scenes_series_count}};
  Scene all[MOST_SCENES];
  size_t count = 0;
  for (size_t i = 0; i < sizeof(parts) / sizeof(parts[0]); ++i) {
    for (size_t k = 0; k < parts[i].count && count < MOST_SCENES; ++k) {
      const Scene* const scene = &parts[i].scenes[k];
      if (core ? scene->core : !wanted || strstr(scene->name, wanted)) {
        all[count++] = *scene;
      }
    }
  }
  const size_t failed = lanes_run(all, count, core ? 2 : 4);
  printf("%zu failed\n", failed);
  return failed ? 1 : 0;
}
