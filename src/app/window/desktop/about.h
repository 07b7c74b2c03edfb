// SPDX-License-Identifier: GPL-3.0-or-later

// What this program is, its licence, and what it is built with.

#ifndef SR_WINDOW_DESKTOP_ABOUT_H
#define SR_WINDOW_DESKTOP_ABOUT_H

#include <adwaita.h>

/// Show the About dialog over a window.
void sr_about_show(GtkWindow* parent);

#endif // SR_WINDOW_DESKTOP_ABOUT_H
