// SPDX-License-Identifier: GPL-3.0-or-later

// UTF-8 (RFC 3629), for every room that takes text from outside or cuts text to a size.

#ifndef SR_UTF8_H
#define SR_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/**
   The character at the beginning of a text.

   @param text Any bytes.
   @param size Bytes of it, at least 1; 4 does for any text that ends with NUL.
   @param code Receives the character's number where there is one; may be NULL.
   @return Its bytes, 1 to 4; 0 if these bytes are no UTF-8.
*/
size_t sr_utf8_character(const char* text, size_t size, uint32_t* code);

/// The length of a text that was cut at `length` bytes, without the character cut in two.
size_t sr_utf8_whole(const char* text, size_t length);

/// Copy a text, cut on a whole character where `size` bytes, at least 1, are too few for it and its
/// NUL; "" of NULL.
void sr_utf8_copy(char* to, size_t size, const char* text);

/**
   The same, not of NULL, with '?' for bytes that are no UTF-8 and for control characters: those
   under U+0020 and U+007F to U+009F, which a terminal might obey.

   @return False if something was cut off or replaced.
*/
bool sr_utf8_copy_clean(char* to, size_t size, const char* text);

#endif // SR_UTF8_H
