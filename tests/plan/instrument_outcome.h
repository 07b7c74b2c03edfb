// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file instrument_outcome.h
   What must hold of any bytes whatever: they give a layout that is whole, or exactly one clear
   error.
*/

#ifndef SR_TESTS_INSTRUMENT_OUTCOME_H
#define SR_TESTS_INSTRUMENT_OUTCOME_H

#include <steadyreed/instrument.h>

/**
   Read bytes and look at what comes of it.

   @return NULL if all is well, else a sentence about what is wrong.
*/
const char* sr_test_instrument_outcome(const char* text, size_t size);

#endif // SR_TESTS_INSTRUMENT_OUTCOME_H
