// SPDX-License-Identifier: GPL-3.0-or-later

// JSON files in the player's configuration folder: read with care, written for their owner only.

#ifndef SR_STORE_CONFIG_FILE_H
#define SR_STORE_CONFIG_FILE_H

#include <steadyreed/status.h>

#include <jansson.h>

#include <stdbool.h>

/// One such file.
typedef struct {
  const char* name;   ///< Such as "setup.json"
  const char* what;   ///< For errors, such as "setup"
  size_t most_bytes;  ///< Largest size accepted
  const char* damage; ///< End of the sentence "It was moved to ... and": what that means
} SrConfigFile;

/// Read a text that is JSON into `context`; the error needs no place.
typedef SrStatus SrConfigReader(const json_t* json, void* context, SrError* error);

/**
   Read a file with a reader. A damaged one is renamed, so that it is reported once and a new one
   can be written.

   @return SR_OK, also without a file, when the reader is not called; what the reader returned;
           SR_BAD_SYNTAX, SR_TOO_LARGE, SR_UNSUPPORTED, SR_NO_PERMISSION or SR_NO_MEMORY.
*/
SrStatus sr_config_file_read(const SrConfigFile* file, SrConfigReader* reader, void* context,
                             SrError* error);

/**
   Write a file readable by its owner only.

   @param json Its content, which is freed; NULL for want of memory.
   @return SR_OK, SR_NOT_FOUND (no home), SR_NO_PERMISSION, SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_config_file_write(const SrConfigFile* file, json_t* json, SrError* error);

/// Path of a file in the configuration folder, which is made if `make`; free it. NULL without a
/// home or memory.
char* sr_config_file_path(const SrConfigFile* file, bool make);

#endif // SR_STORE_CONFIG_FILE_H
