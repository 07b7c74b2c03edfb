// SPDX-License-Identifier: GPL-3.0-or-later

// UTF-8 (RFC 3629), for text from outside and for truncating text.

#ifndef SR_UTF8_H
#define SR_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/**
   Decode the first character of a text.

   @param text Any bytes.
   @param size Its size in bytes, at least 1; 4 is enough for any text that ends with NUL.
   @param code Receives the code point if valid; may be NULL.
   @return Length of the character, 1 to 4 bytes; 0 if the bytes are not valid UTF-8.
*/
size_t sr_utf8_character(const char* text, size_t size, uint32_t* code);

/// Length of a text cut at `length` bytes, without a partial last character.
size_t sr_utf8_whole(const char* text, size_t length);

/// Copy a text, cut at a whole character if it and its NUL exceed `size` bytes (at least 1); "" if
/// NULL.
void sr_utf8_copy(char* to, size_t size, const char* text);

/**
   The same, but not of NULL, with '?' for invalid UTF-8 and for control characters (below U+0020
   and U+007F to U+009F), which a terminal might obey.

   @return False if something was cut off or replaced.
*/
bool sr_utf8_copy_clean(char* to, size_t size, const char* text);

#endif // SR_UTF8_H
