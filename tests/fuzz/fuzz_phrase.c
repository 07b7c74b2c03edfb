// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fuzz_phrase.c
   Entry for a coverage-guided fuzzer (libFuzzer) into the phrase reader. Built with
   STANDALONE it runs once over the files it is given.

   The first byte chooses what of the text is read, the rest is the text.
*/

#include "kept_files.h"
#include "outcome.h"

#include <stdio.h>
#include <stdlib.h>

int
LLVMFuzzerTestOneInput(const uint8_t* const data, const size_t size)
{
  if (size == 0) {
    return 0;
  }
  static const SrPhraseChoice choices[] = {
      {.tune = 0},
      {.last_bar = 4},
      {.first_bar = 1, .last_bar = 2},
      {.first_bar = 3, .last_bar = 9},
      {.tune = 2},
      {.part = 'A'},
      {.first_bar = 2, .last_bar = 5, .part = 'B'},
      {.title = "a", .transpose = 7},
  };
  // A digit, so that the kept files can be read and written by hand
  const SrPhraseChoice* const choice = &choices[data[0] % (sizeof(choices) / sizeof(choices[0]))];
  const char* const wrong = sr_test_outcome((const char*)data + 1, size - 1, choice, NULL);
  if (wrong) {
    fprintf(stderr, "%s\n", wrong);
    abort();
  }
  return 0;
}

#ifdef STANDALONE
int
main(const int argc, char** const argv)
{
  return sr_test_kept_files(argc, argv, NULL);
}
#endif
