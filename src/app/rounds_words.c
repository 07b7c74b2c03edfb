// SPDX-License-Identifier: GPL-3.0-or-later

#include "rounds_words.h"

#include <stdio.h>

const char*
sr_rounds_words(const size_t rounds, const size_t clean, char words[SR_ROUNDS_WORDS_SIZE])
{
  if (rounds == 1) {
    snprintf(words, SR_ROUNDS_WORDS_SIZE, "1 round, %s", clean ? "without a fault" : "with faults");
  } else {
    snprintf(words, SR_ROUNDS_WORDS_SIZE, "%zu rounds, %zu of them without a fault", rounds, clean);
  }
  return words;
}
