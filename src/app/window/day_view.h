// SPDX-License-Identifier: GPL-3.0-or-later

// What is chosen for today, in order: what each item is, why, for how long, and whether it is done.
// Items are left out, or one alone is played.

#ifndef SR_WINDOW_DAY_VIEW_H
#define SR_WINDOW_DAY_VIEW_H

#include "day_reading.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_DAY_VIEW (sr_day_view_get_type())
G_DECLARE_FINAL_TYPE(SrDayView, sr_day_view, SR, DAY_VIEW, AdwWindow)

/**
   Signal "begin": SrDay*, which the receiver then has, and gboolean*, one for each item, whether it
   is to be played. The view closes after it.

   @param pause_s Pause before each item, s.
*/
GtkWidget* sr_day_view_new(GtkWindow* parent, double pause_s);

G_END_DECLS

#endif // SR_WINDOW_DAY_VIEW_H
