// SPDX-License-Identifier: GPL-3.0-or-later

// Sizes of files as people write them: 2G, 350 MB; decimal units (ISO/IEC 80000-13).

#ifndef SR_APP_BYTE_WORDS_H
#define SR_APP_BYTE_WORDS_H

#include <stdbool.h>
#include <stdint.h>

#define SR_BYTE_WORDS_SIZE 32

/// Least room for takes that can be set, bytes: some 20 minutes.
#define SR_LEAST_TAKES_LIMIT UINT64_C(100000000)

/// "3.4 MB"; returns `words`.
const char* sr_byte_words(uint64_t bytes, char words[SR_BYTE_WORDS_SIZE]);

/// Parse a number with k, M, G or T behind it, in any case, and perhaps a B: "2G", "500 MB"; false
/// if it is none, has no such unit, or is not from `least` to `most`.
bool sr_value_bytes(const char* text, uint64_t least, uint64_t most, uint64_t* bytes);

#endif // SR_APP_BYTE_WORDS_H
