// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/setup.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

char*
sr_config_folder(const bool make)
{
  // Relative paths are to be ignored (XDG Base Directory Specification 0.8)
  const char* const config = getenv("XDG_CONFIG_HOME");
  const char* const home = getenv("HOME");
  char* base = NULL;
  if (config && config[0] == '/') {
    base = strdup(config);
  } else if (home && home[0] == '/' && asprintf(&base, "%s/.config", home) < 0) {
    base = NULL;
  }
  char* folder = NULL;
  if (base && asprintf(&folder, "%s/steadyreed", base) < 0) {
    folder = NULL;
  }
  if (folder && make) {
    mkdir(base, 0700);
    mkdir(folder, 0700);
  }
  free(base);
  return folder;
}
