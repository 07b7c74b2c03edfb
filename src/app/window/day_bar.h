// SPDX-License-Identifier: GPL-3.0-or-later

// While the items of today are played: which one, how long it goes on, and how to leave it.

#ifndef SR_WINDOW_DAY_BAR_H
#define SR_WINDOW_DAY_BAR_H

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_DAY_BAR (sr_day_bar_get_type())
G_DECLARE_FINAL_TYPE(SrDayBar, sr_day_bar, SR, DAY_BAR, GtkBox)

/// Say where the player is. Its buttons are for the actions win.next-item and win.end-today.
void sr_day_bar_say(SrDayBar* bar, const char* words);

G_END_DECLS

#endif // SR_WINDOW_DAY_BAR_H
