// SPDX-License-Identifier: GPL-3.0-or-later

// How it has gone: the phrases practised, and of the chosen one what got better in words, its
// picture over days, and a button to save these as a page. It needs no microphone: a sitting goes
// on under it.

#ifndef SR_WINDOW_PROGRESS_VIEW_H
#define SR_WINDOW_PROGRESS_VIEW_H

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_PROGRESS_VIEW (sr_progress_view_get_type())
G_DECLARE_FINAL_TYPE(SrProgressView, sr_progress_view, SR, PROGRESS_VIEW, AdwWindow)

/// Open it over a window.
void sr_progress_view_open(GtkWindow* parent);

G_END_DECLS

#endif // SR_WINDOW_PROGRESS_VIEW_H
