// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fuzz_phrase.c
   Entry for a coverage-guided fuzzer (libFuzzer) into the phrase reader. Built with
   STANDALONE it runs once over the files it is given.

   The first byte chooses what of the text is read, the rest is the text.
*/

#include "outcome.h"

#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size);

int
LLVMFuzzerTestOneInput(const uint8_t* const data, const size_t size)
{
  if (size == 0) {
    return 0;
  }
  static const SrPhraseChoice choices[] = {{0, 0, 0, 0},  {0, 0, 4, 0}, {0, 1, 2, 0},
                                           {0, 3, 9, 0},  {2, 0, 0, 0}, {0, 0, 0, 'A'},
                                           {0, 2, 5, 'B'}};
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
  static uint8_t data[1u << 20u];
  for (int i = 1; i < argc; ++i) {
    FILE* const file = fopen(argv[i], "rb");
    if (!file) {
      fprintf(stderr, "%s cannot be opened\n", argv[i]);
      return 1;
    }
    const size_t size = fread(data, 1, sizeof(data), file);
    fclose(file);
    LLVMFuzzerTestOneInput(data, size);
  }
  printf("%d files read\n", argc - 1);
  return argc < 2;
}
#endif
