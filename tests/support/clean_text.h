// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_CLEAN_TEXT_H
#define SR_TESTS_CLEAN_TEXT_H

#include <stdbool.h>

/// Strict UTF-8 (RFC 3629) without control characters.
bool sr_test_is_clean_text(const char* text);

#endif // SR_TESTS_CLEAN_TEXT_H
