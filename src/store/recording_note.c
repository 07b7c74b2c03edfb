// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/recording.h>

#include "open_recording.h"

#include "../utf8.h"

#include <sndfile.h>

#include <string.h>

/// Copy a text without its padding.
static void
copy_text(char note[SR_TAKE_NOTE_SIZE], const char* const text)
{
  sr_utf8_copy(note, SR_TAKE_NOTE_SIZE, text);
  for (size_t length = strlen(note); length > 0 && note[length - 1] == ' ';) {
    note[--length] = '\0';
  }
}

SrStatus
sr_recording_note(const char* const path, char note[SR_TAKE_NOTE_SIZE], SrError* const error)
{
  note[0] = '\0';
  SrKeptTake take;
  const SrStatus outcome = sr_kept_take_open(path, true, &take, error);
  if (outcome != SR_OK) {
    return outcome;
  }
  const char* const text = sf_get_string(take.file, SF_STR_COMMENT);
  copy_text(note, text);
  sr_kept_take_close(&take);
  return SR_OK;
}
