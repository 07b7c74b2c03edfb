// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fuzz_instrument.c
   Entry for a coverage-guided fuzzer (libFuzzer) into the reader of layouts. Built with
   STANDALONE it runs once over the files it is given, and over each of them cut off, and with
   each byte of it changed.
*/

#include "instrument_outcome.h"
#include "kept_files.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int
LLVMFuzzerTestOneInput(const uint8_t* const data, const size_t size)
{
  const char* const wrong = sr_test_instrument_outcome((const char*)data, size);
  if (wrong) {
    fprintf(stderr, "%s\n", wrong);
    abort();
  }
  return 0;
}

#ifdef STANDALONE
/// Cut off, and with each byte of it changed.
static void
break_and_change(uint8_t* const data, const size_t size)
{
  sr_test_break_and_change(data, size, 1);
}

int
main(const int argc, char** const argv)
{
  return sr_test_kept_files(argc, argv, break_and_change);
}
#endif
