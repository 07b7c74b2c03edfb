// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_PAST_FAULTS_H
#define SR_APP_PAST_FAULTS_H

#include <steadyreed/status.h>

#include <stddef.h>

/**
   Read from an assessment which notes went wrong, and add to each note's hardness, in the costs of
   a plan.

   @param path  An assessment as JSON (steadyreed-assessment).
   @param count Number of notes of the phrase.
   @param hard  One number for each note, at least 0; on error it may be partly updated.
   @return SR_OK; SR_BAD_SYNTAX (not an assessment, or of another phrase), or what sr_input_read()
           returns.
*/
SrStatus sr_past_faults_add(const char* path, size_t count, double* hard, SrError* error);

#endif // SR_APP_PAST_FAULTS_H
