// SPDX-License-Identifier: GPL-3.0-or-later

// A window in the desktop's colours, light or dark.

#ifndef SR_WINDOW_NIGHT_H
#define SR_WINDOW_NIGHT_H

#include <gtk/gtk.h>

/// Give a widget the class "night" of window.css while the desktop is dark, for as long as it
/// lives.
void sr_night_follow(GtkWidget* widget);

#endif // SR_WINDOW_NIGHT_H
