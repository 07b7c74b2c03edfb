// SPDX-License-Identifier: GPL-3.0-or-later

// Keys and page-turner pedals in the window. What each key does is in ../keys.h.

#ifndef SR_WINDOW_WINDOW_KEYS_H
#define SR_WINDOW_WINDOW_KEYS_H

#include "practise_window.h"

/// Let keys do their jobs. Page keys, which pedals send, do so wherever the focus is; the others
/// only where nothing else takes them.
void sr_window_keys_add(SrPractiseWindow* window);
/// Show what the keys do.
void sr_window_keys_show(SrPractiseWindow* window);

#endif // SR_WINDOW_WINDOW_KEYS_H
