// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file outcome.h
   What must hold of any bytes whatever: they give a phrase that is whole, or exactly
   one clear error.
*/

#ifndef SR_TESTS_OUTCOME_H
#define SR_TESTS_OUTCOME_H

#include <steadyreed/phrase.h>

/**
   Read bytes and look at what comes of it.

   @param status Receives the outcome; may be NULL.
   @return NULL if all is well, else a sentence about what is wrong.
*/
const char* sr_test_outcome(const char* text, size_t size, const SrPhraseChoice* choice,
                            SrStatus* status);

#endif // SR_TESTS_OUTCOME_H
