// SPDX-License-Identifier: GPL-3.0-or-later

// Marks a stretch of a recording: the recording drawn over time, what moves along it, and the ends
// of the stretch as times.

#ifndef SR_WINDOW_STRETCH_BOX_H
#define SR_WINDOW_STRETCH_BOX_H

#include <steadyreed/take_outline.h>

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_STRETCH_BOX (sr_stretch_box_get_type())
G_DECLARE_FINAL_TYPE(SrStretchBox, sr_stretch_box, SR, STRETCH_BOX, GtkBox)

/// Signal "changed": another stretch is marked.

/// Show a recording, with its first seconds marked; NULL for none. It must stay until another is
/// shown.
void sr_stretch_box_show(SrStretchBox* box, const SrTakeOutline* outline);
/// The stretch, s; the end is after the start.
void sr_stretch_box_get(SrStretchBox* box, double* from_s, double* to_s);
/// Where it sounds now, s; NAN if it does not. An end can be put there.
void sr_stretch_box_line(SrStretchBox* box, double at_s);
/// Put the keyboard into the picture.
void sr_stretch_box_focus(SrStretchBox* box);
/// Put an end of the stretch where it sounds now; nothing if it does not.
void sr_stretch_box_end_here(SrStretchBox* box, gboolean last);

G_END_DECLS

#endif // SR_WINDOW_STRETCH_BOX_H
