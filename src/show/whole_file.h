// SPDX-License-Identifier: GPL-3.0-or-later

// A file that is written whole or not at all.

#ifndef SR_SHOW_WHOLE_FILE_H
#define SR_SHOW_WHOLE_FILE_H

#include <steadyreed/status.h>

#include <stddef.h>

/**
   Write bytes to a file, replacing what was there. A new file gets the usual mode. If writing
   fails the file is removed, unless it is no regular file.

   @return SR_OK, SR_NOT_FOUND (no such folder), SR_NO_PERMISSION or SR_WRITE_FAILED.
*/
SrStatus sr_whole_file_write(const char* path, const unsigned char* bytes, size_t size,
                             SrError* error);

#endif // SR_SHOW_WHOLE_FILE_H
