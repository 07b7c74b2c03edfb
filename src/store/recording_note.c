// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/recording.h>

#include "kept_take.h"

#include <sndfile.h>

#include <string.h>

/// Copy a text, cut on a whole UTF-8 character.
static void
copy_text(char note[SR_TAKE_NOTE_SIZE], const char* const text)
{
  size_t length = strnlen(text, SR_TAKE_NOTE_SIZE);
  if (length == SR_TAKE_NOTE_SIZE) {
    length = SR_TAKE_NOTE_SIZE - 1;
    // Back over the bytes that go on with a character to the one that begins it.
    for (int back = 0; back < 4 && length > 0 && ((unsigned char)text[length] & 0xC0u) == 0x80u;
         ++back) {
      --length;
    }
  }
  // … and without what only keeps room
  while (length > 0 && text[length - 1] == ' ') {
    --length;
  }
  memcpy(note, text, length);
  note[length] = '\0';
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
  copy_text(note, text ? text : "");
  sr_kept_take_close(&take);
  return SR_OK;
}
