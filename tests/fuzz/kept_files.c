// SPDX-License-Identifier: GPL-3.0-or-later

#include "kept_files.h"

#include <stdio.h>

void
sr_test_break_and_change(uint8_t* const data, const size_t size, const size_t block)
{
  static const uint8_t others[] = {'\0', '"', '}', ']', ',', '9', 'b', '-', 'e', 0xE2u};
  for (size_t place = 0; place < size; place += block) {
    const uint8_t kept = data[place];
    data[place] = others[place % sizeof(others)];
    LLVMFuzzerTestOneInput(data, size);
    data[place] = kept;
    LLVMFuzzerTestOneInput(data, place);
  }
}

int
sr_test_kept_files(const int argc, char** const argv, KeptFileUse* const use)
{
  static uint8_t data[KEPT_FILE_SIZE];
  for (int i = 1; i < argc; ++i) {
    FILE* const file = fopen(argv[i], "rb");
    if (!file) {
      fprintf(stderr, "%s cannot be opened\n", argv[i]);
      return 1;
    }
    const size_t size = fread(data, 1, sizeof(data), file);
    fclose(file);
    LLVMFuzzerTestOneInput(data, size);
    if (use) {
      use(data, size);
    }
  }
  printf("%d files read\n", argc - 1);
  return argc < 2;
}
