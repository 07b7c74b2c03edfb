// SPDX-License-Identifier: GPL-3.0-or-later

// Replacement of sharps and flats for fonts without them.

#ifndef SR_SHOW_PLAIN_SIGNS_H
#define SR_SHOW_PLAIN_SIGNS_H

#include <stdbool.h>

/// Whether a text has ♯, ♭ or ♮.
bool sr_has_signs(const char* text);
/// A copy with "#", "b" and "=" instead; NULL without memory. Free it.
char* sr_plain_signs(const char* text);

#endif // SR_SHOW_PLAIN_SIGNS_H
