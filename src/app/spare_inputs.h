// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_SPARE_INPUTS_H
#define SR_APP_SPARE_INPUTS_H

#include <steadyreed/status.h>

#include <stddef.h>

/**
   Refuse to write onto what a command reads.

   @param written What is to be written; NULL for standard output.
   @param layout  An instrument's layout that is read, by name or path; NULL for none.
   @param read    Other paths that are read; NULLs are passed over.
   @param count   How many; 0 or more.
   @return SR_OK or SR_BAD_ARGUMENT, with the file that is read named.
*/
SrStatus sr_spare_inputs(const char* written, const char* layout, const char* const* read,
                         size_t count, SrError* error);

/// The same, said on standard error. SR_EXIT_DONE or SR_EXIT_WRONG_USAGE.
int sr_spare_inputs_or_say(const char* written, const char* layout, const char* const* read,
                           size_t count);

#endif // SR_APP_SPARE_INPUTS_H
