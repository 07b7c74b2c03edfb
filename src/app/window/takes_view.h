// SPDX-License-Identifier: GPL-3.0-or-later

// The kept takes by phrase: to be heard, seen as they were judged, and kept for good; and how much
// room they have.

#ifndef SR_WINDOW_TAKES_VIEW_H
#define SR_WINDOW_TAKES_VIEW_H

#include "one_sitting.h"

#include <steadyreed/stream.h>

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_TAKES_VIEW (sr_takes_view_get_type())
G_DECLARE_FINAL_TYPE(SrTakesView, sr_takes_view, SR, TAKES_VIEW, AdwWindow)

/// No session may run until it is destroyed; `sitting` serves the view of two takes. What it plays
/// goes to the output of `stream`.
GtkWidget* sr_takes_view_new(GtkWindow* parent, SrSitting* sitting, const SrStreamSettings* stream);

G_END_DECLS

#endif // SR_WINDOW_TAKES_VIEW_H
