// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_ROUNDS_WORDS_H
#define SR_APP_ROUNDS_WORDS_H

#include <stddef.h>

#define SR_ROUNDS_WORDS_SIZE 80

/// "12 rounds, 9 of them without a fault"; "1 round, without a fault". Returns `words`.
const char* sr_rounds_words(size_t rounds, size_t clean, char words[SR_ROUNDS_WORDS_SIZE]);

#endif // SR_APP_ROUNDS_WORDS_H
