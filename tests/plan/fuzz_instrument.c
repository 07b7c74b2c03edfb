// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fuzz_instrument.c
   Entry for a coverage-guided fuzzer (libFuzzer) into the reader of layouts. Built with
   STANDALONE it runs once over the files it is given, and over each of them cut off, and with
   each byte of it changed.
*/

#include "instrument_outcome.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size);

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
int
main(const int argc, char** const argv)
{
  static uint8_t data[1u << 20u];
  static const uint8_t others[] = {'\0', '"', '}', ']', ',', '9', 'b', 0xE2u};
  for (int i = 1; i < argc; ++i) {
    FILE* const file = fopen(argv[i], "rb");
    if (!file) {
      fprintf(stderr, "%s cannot be opened\n", argv[i]);
      return 1;
    }
    const size_t size = fread(data, 1, sizeof(data), file);
    fclose(file);
    LLVMFuzzerTestOneInput(data, size);
    for (size_t place = 0; place < size; ++place) {
      const uint8_t kept = data[place];
      data[place] = others[place % sizeof(others)];
      LLVMFuzzerTestOneInput(data, size);
      data[place] = kept;
      LLVMFuzzerTestOneInput(data, place);
    }
  }
  printf("%d files read\n", argc - 1);
  return argc < 2;
}
#endif
