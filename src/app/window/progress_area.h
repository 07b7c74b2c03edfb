// SPDX-License-Identifier: GPL-3.0-or-later

// How a phrase has gone from day to day, as a widget: as tall as its width needs, in the colours of
// the desktop, named in words.

#ifndef SR_WINDOW_PROGRESS_AREA_H
#define SR_WINDOW_PROGRESS_AREA_H

#include <gtk/gtk.h>
#include <steadyreed/progress_picture.h>

G_BEGIN_DECLS

#define SR_TYPE_PROGRESS_AREA (sr_progress_area_get_type())
G_DECLARE_FINAL_TYPE(SrProgressArea, sr_progress_area, SR, PROGRESS_AREA, GtkWidget)

/// Show days, which must stay until others are shown; NULL for nothing.
void sr_progress_area_show(SrProgressArea* area, const SrPicturedProgress* pictured);

G_END_DECLS

#endif // SR_WINDOW_PROGRESS_AREA_H
