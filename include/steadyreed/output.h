// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file output.h
   A file that is written whole or not at all.

   What is written lies beside its place until it is whole, on most file systems without a name, so
   that nothing of it is left when the program is killed. An older file of that name stays as it was
   until then. Devices, pipes and what standard output or error go to are written as they are.
*/

#ifndef STEADYREED_OUTPUT_H
#define STEADYREED_OUTPUT_H

#include <steadyreed/status.h>

#include <stddef.h>
#include <stdio.h>

#ifdef __cplusplus
extern "C" {
#endif

/// A file being written.
typedef struct SrOutputImpl SrOutput;

/**
   Refuse to write onto a file that is read.

   @param path   What is to be written.
   @param inputs Paths that are read, "-" for standard input; NULL and paths of nothing are passed
                 over.
   @param count  How many; 0 or more.
   @return SR_OK or SR_BAD_ARGUMENT, with the file that is read named.
*/
SrStatus sr_output_check(const char* path, const char* const* inputs, size_t count, SrError* error);

/**
   Begin to write a file. A new one gets the usual mode, an older one keeps its own; where the path
   is a symbolic link, what it leads to is replaced, and a link that leads nowhere is refused.

   @param path   Its name, in a folder that is there.
   @param output Receives it; free it with sr_output_del(). NULL on error.
   @return SR_OK, SR_NOT_FOUND (no such folder), SR_NO_PERMISSION, SR_WRITE_FAILED (a folder, or
   trouble of the system's) or SR_NO_MEMORY.
*/
SrStatus sr_output_new(const char* path, SrOutput** output, SrError* error);

/// Where to write, for reading as well unless it is a device; closed with the output.
int sr_output_descriptor(const SrOutput* output);

/// A stream to write to, closed with the output; the same each time. NULL without memory.
FILE* sr_output_stream(SrOutput* output);

/**
   Put what was written in its place.

   @return SR_OK, or SR_WRITE_FAILED (the disk is full, say): an older file is then as it was.
*/
SrStatus sr_output_finish(SrOutput* output, SrError* error);

/// Free. What is not finished is as if it had never been begun. NULL is passed over.
void sr_output_del(SrOutput* output);

/**
   Write bytes to a file.

   @param size How many; 0 or more.
   @return As sr_output_new() and sr_output_finish().
*/
SrStatus sr_output_write(const char* path, const void* bytes, size_t size, SrError* error);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_OUTPUT_H
