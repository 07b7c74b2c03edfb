// SPDX-License-Identifier: GPL-3.0-or-later

// A recording over time: how loud it is, a stretch of it that is marked, and a line where it
// sounds. A stretch is marked by dragging, and its ends are moved by dragging them.

#ifndef SR_WINDOW_TAKE_STRIP_H
#define SR_WINDOW_TAKE_STRIP_H

#include <steadyreed/take_outline.h>

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_TAKE_STRIP (sr_take_strip_get_type())
G_DECLARE_FINAL_TYPE(SrTakeStrip, sr_take_strip, SR, TAKE_STRIP, GtkWidget)

/// Signals: "marked" (gdouble from_s, gdouble to_s), the player has marked a stretch; "moved",
/// another part is shown.

/// Show a recording from its start to its end; NULL for none. It must stay until another is shown.
void sr_take_strip_show(SrTakeStrip* strip, const SrTakeOutline* outline);
/// Mark a stretch.
void sr_take_strip_mark(SrTakeStrip* strip, double from_s, double to_s);
/// Put the line at a time; NAN for none.
void sr_take_strip_line(SrTakeStrip* strip, double at_s);

/// Show more (a factor over 1) or less, about the marked stretch if it is in sight.
void sr_take_strip_zoom(SrTakeStrip* strip, double factor);
/// Show the marked stretch, or all.
void sr_take_strip_fit(SrTakeStrip* strip, gboolean all);
/// Begin with another time.
void sr_take_strip_move(SrTakeStrip* strip, double from_s);
/// The part that is shown.
void sr_take_strip_part(SrTakeStrip* strip, double* from_s, double* shown_s);

G_END_DECLS

#endif // SR_WINDOW_TAKE_STRIP_H
