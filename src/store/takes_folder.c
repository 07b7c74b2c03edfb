// SPDX-License-Identifier: GPL-3.0-or-later

#include "data_folder.h"
#include "plain_name.h"

#include <steadyreed/recording.h>

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

SrStatus
sr_takes_folder(char** const folder, SrError* const error)
{
  return sr_data_folder("takes", "takes", true, folder, error);
}

SrStatus
sr_take_name(const char* const folder, const char* const title, char** const path,
             SrError* const error)
{
  *path = NULL;
  char plain[SR_PLAIN_NAME_MOST + 1];
  sr_plain_name(title, plain);
  char date[64] = "";
  struct tm local;
  const time_t now = time(NULL);
  if (!localtime_r(&now, &local) || !strftime(date, sizeof(date), "%Y-%m-%d-%H%M%S", &local)) {
    snprintf(date, sizeof(date), "%lld", (long long)now);
  }
  const size_t length = strlen(folder);
  const char* const slash = length > 0 && folder[length - 1] == '/' ? "" : "/";
  for (unsigned number = 1;; ++number) {
    char ending[16] = "";
    if (number > 1) {
      snprintf(ending, sizeof(ending), "-%u", number);
    }
    char* name = NULL;
    if (asprintf(&name, "%s%s%s%s%s%s.flac", folder, slash, date, *plain ? "-" : "", plain,
                 ending) < 0) {
      return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to record.");
    }
    struct stat status;
    if (lstat(name, &status)) {
      *path = name;
      return SR_OK;
    }
    free(name);
  }
}
