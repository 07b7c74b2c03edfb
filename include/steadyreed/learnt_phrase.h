// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file learnt_phrase.h
   Where phrases that were written down from recordings are kept: the folder "learnt" of the
   player's data, $XDG_DATA_HOME/steadyreed or ~/.local/share/steadyreed.
*/

#ifndef STEADYREED_LEARNT_PHRASE_H
#define STEADYREED_LEARNT_PHRASE_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stddef.h>

SR_BEGIN_DECLARATIONS

/**
   Keep a phrase in a file of its own, readable by its owner only. No file is ever changed: if one
   of that name has the same text it is used, otherwise the name gets a number ("-2").

   @param title For the file's name: about its first 60 letters in lower case, with one '-' for
                anything but ASCII letters and digits; "phrase" if nothing is left of it. UTF-8.
   @param text  The tune in ABC notation.
   @param size  Its size, bytes.
   @param path  Receives the file's path; free() it. NULL on error.
   @return SR_OK, SR_NOT_FOUND (no home), SR_NO_PERMISSION, SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_learnt_phrase_keep(const char* title, const char* text, size_t size, char** path,
                               SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_LEARNT_PHRASE_H
