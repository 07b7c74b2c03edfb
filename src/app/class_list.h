// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file class_list.h
   Whose recordings lie in a class's folder.
*/

#ifndef SR_APP_CLASS_LIST_H
#define SR_APP_CLASS_LIST_H

#include <steadyreed/status.h>

#include <stddef.h>

/// A recording.
typedef struct {
  char* path;   ///< The folder as named, and what lies in it
  size_t pupil; ///< Index of whose it is
} SrClassTake;

/// A pupil; the takes are in order of pupils.
typedef struct {
  char* name;
  size_t first; ///< Index of the first take
  size_t count; ///< At least 1
} SrPupil;

typedef struct {
  SrClassTake* takes; ///< By pupil, then by path
  size_t take_count;
  SrPupil* pupils; ///< By name
  size_t pupil_count;
} SrClassList;

/**
   Find the recordings: those in the folder belong to who their name says, without its extension;
   those in a folder inside it to who that folder is named after. Hidden files, and those that do
   not have the extension of a recording, are left alone.

   @param list Receives them; clear it with sr_class_list_clear(), also on error.
   @return SR_OK, SR_NOT_FOUND (no such folder, or no recording in it), SR_NO_PERMISSION or
           SR_NO_MEMORY.
*/
SrStatus sr_class_list_read(const char* folder, SrClassList* list, SrError* error);
void sr_class_list_clear(SrClassList* list);

#endif // SR_APP_CLASS_LIST_H
