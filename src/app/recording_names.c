// SPDX-License-Identifier: GPL-3.0-or-later

#include "recording_names.h"

#include <stddef.h>
#include <string.h>
#include <strings.h>

bool
sr_names_recording(const char* const path)
{
  static const char* const ends[] = {".wav",  ".flac", ".ogg", ".oga", ".opus", ".mp3",
                                     ".aiff", ".m4a",  ".mp4", ".3gp", ".webm", ".wma",
                                     ".amr",  ".caf",  ".mov", ".aac"};
  const char* const dot = strrchr(path, '.');
  for (size_t i = 0; dot && i < sizeof(ends) / sizeof(ends[0]); ++i) {
    if (!strcasecmp(dot, ends[i])) {
      return true;
    }
  }
  return false;
}
