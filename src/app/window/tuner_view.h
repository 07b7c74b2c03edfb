// SPDX-License-Identifier: GPL-3.0-or-later

// The tuner: hold a note, and see how far it is from where it should be.

#ifndef SR_WINDOW_TUNER_VIEW_H
#define SR_WINDOW_TUNER_VIEW_H

#include <steadyreed/stream.h>

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_TUNER_VIEW (sr_tuner_view_get_type())
G_DECLARE_FINAL_TYPE(SrTunerView, sr_tuner_view, SR, TUNER_VIEW, AdwWindow)

/**
   Open it over a window, and listen. No other session may run as long as it is there; when it goes,
   its devices are closed.

   @param stream Copied, with its names of devices.
*/
GtkWidget* sr_tuner_view_new(GtkWindow* parent, const SrStreamSettings* stream);

G_END_DECLS

#endif // SR_WINDOW_TUNER_VIEW_H
