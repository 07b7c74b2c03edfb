// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_SPARE_INPUTS_H
#define SR_APP_SPARE_INPUTS_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

/**
   Refuse to overwrite what a command reads.

   @param written The output; NULL for standard output.
   @param layout  Layout that is read, by name or path; NULL for none.
   @param read    Other input paths; NULLs are ignored.
   @param count   Number of these, 0 or more.
   @return SR_OK or SR_BAD_ARGUMENT, with the input named.
*/
SrStatus sr_spare_inputs(const char* written, const char* layout, const char* const* read,
                         size_t count, SrError* error);

/// The same, with the error reported on standard error. SR_EXIT_DONE or SR_EXIT_WRONG_USAGE.
int sr_spare_inputs_or_say(const char* written, const char* layout, const char* const* read,
                           size_t count);

/**
   Refuse to write over a file that is there, unless that is wanted: what the player corrected by
   hand is not lost to a slip.

   @param written The output; NULL for standard output.
   @return SR_EXIT_DONE, or SR_EXIT_NOT_JUDGED, which was reported.
*/
int sr_new_file_or_say(const char* written, bool force);

#endif // SR_APP_SPARE_INPUTS_H
