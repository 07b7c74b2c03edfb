// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file output.h
   Writing a file completely or not at all.

   The data goes to a temporary file in the same folder, on most file systems without a name, so
   that nothing is left behind if the program is killed. An older file of the same name stays
   unchanged until then. Devices, pipes and what standard output or error go to are written
   directly.
*/

#ifndef STEADYREED_OUTPUT_H
#define STEADYREED_OUTPUT_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stddef.h>
#include <stdio.h>

SR_BEGIN_DECLARATIONS

/// A file being written.
typedef struct SrOutputImpl SrOutput;

/**
   Refuse to overwrite a file that is also an input.

   @param path   The output.
   @param inputs Input paths, "-" for standard input; NULL and paths that do not exist are ignored.
   @param count  Number of inputs.
   @return SR_OK or SR_BAD_ARGUMENT, with the input named.
*/
SrStatus sr_output_check(const char* path, const char* const* inputs, size_t count, SrError* error);

/**
   Begin to write a file. A new file gets the usual mode, an existing one keeps its own. If the path
   is a symbolic link, its target is replaced; a dangling link is refused.

   @param path   Its name, in an existing folder.
   @param output Receives it; free it with sr_output_del(). NULL on error.
   @return SR_OK, SR_NOT_FOUND (no such folder), SR_NO_PERMISSION, SR_WRITE_FAILED (a folder, or a
           system error) or SR_NO_MEMORY.
*/
SrStatus sr_output_new(const char* path, SrOutput** output, SrError* error);

/// Descriptor to write to, also readable unless it is a device; closed with the output.
int sr_output_descriptor(const SrOutput* output);

/// A stream to write to, closed with the output; the same each time. NULL without memory.
FILE* sr_output_stream(SrOutput* output);

/**
   Move the finished file into place.

   @return SR_OK, or SR_WRITE_FAILED (the disk is full, say); an older file is then unchanged.
*/
SrStatus sr_output_finish(SrOutput* output, SrError* error);

/// Free; NULL does nothing. An unfinished file leaves no trace.
void sr_output_del(SrOutput* output);

/**
   Write a whole file from memory.

   @param size Number of bytes, 0 or more.
   @return As sr_output_new() and sr_output_finish().
*/
SrStatus sr_output_write(const char* path, const void* bytes, size_t size, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_OUTPUT_H
