// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_STORE_PLAIN_NAME_H
#define SR_STORE_PLAIN_NAME_H

/// Longest plain name, bytes: names of files are limited to 255 bytes on most file systems.
#define SR_PLAIN_NAME_MOST 60u

/// A title for the name of a file: lower-case ASCII letters and digits, with one '-' for anything
/// else between them. It may be empty.
void sr_plain_name(const char* title, char plain[SR_PLAIN_NAME_MOST + 1]);

#endif // SR_STORE_PLAIN_NAME_H
