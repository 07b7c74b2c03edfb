// SPDX-License-Identifier: GPL-3.0-or-later

// The key of recorded takes, whose phrase is asked for in all others. Arguments: phrase and take,
// as often as wanted.

#include "session/other_key.h"

#include <stdio.h>
#include <stdlib.h>

int
main(const int argc, char** const argv)
{
  static const int shifts[] = {-12, -7, -5, -3, -2, -1, 0, 1, 2, 4, 5, 7};
  int wrong = 0;
  int count = 0;
  for (int i = 1; i + 1 < argc; i += 2) {
    for (size_t s = 0; s < sizeof(shifts) / sizeof(shifts[0]); ++s) {
      const SrPhraseChoice choice = {.transpose = shifts[s]};
      SrPhrase* phrase = NULL;
      if (sr_phrase_read_file(argv[i], &choice, &phrase, NULL) != SR_OK) {
        printf("%s cannot be read\n", argv[i]);
        return 1;
      }
      const int reported = sr_other_key(phrase, argv[i + 1]);
      if (reported != -shifts[s]) {
        printf("%s, %d semitones from what is written: told %d\n", argv[i + 1], -shifts[s],
               reported);
        ++wrong;
      }
      ++count;
      sr_phrase_del(phrase);
    }
  }
  printf("%d of %d keys told\n", count - wrong, count);
  return count == 0 || wrong > 0;
}
