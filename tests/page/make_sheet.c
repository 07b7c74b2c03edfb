// SPDX-License-Identifier: GPL-3.0-or-later

// Writes the sheets of the tests, to look at: make_sheet CASE OUT.pdf|svg|png

#include "made_sheet.h"

#include "show/sheet_file.h"

#include <stdio.h>
#include <string.h>

int
main(const int argc, char** const argv)
{
  for (size_t i = 0; argc == 3 && i < sheet_case_count; ++i) {
    if (strcmp(sheet_cases[i].name, argv[1]) != 0) {
      continue;
    }
    MadeSheet made;
    SrError error;
    char words[1024];
    const bool sound = made_sheet_make(&sheet_cases[i].order, &made);
    const SrStatus status =
        sound ? sr_sheet_write(argv[2], &made.content, &error) : SR_BAD_ARGUMENT;
    if (sound && status != SR_OK) {
      fprintf(stderr, "%s\n", sr_error_print(&error, words, sizeof(words)));
    }
    made_sheet_clear(&made);
    return status != SR_OK;
  }
  fprintf(stderr, "make_sheet CASE OUT, where CASE is one of:");
  for (size_t i = 0; i < sheet_case_count; ++i) {
    fprintf(stderr, " %s", sheet_cases[i].name);
  }
  fputc('\n', stderr);
  return 2;
}
