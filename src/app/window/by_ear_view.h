// SPDX-License-Identifier: GPL-3.0-or-later

// Learning by ear: a stretch of a recording is marked, heard slowly, written down, and practised.

#ifndef SR_WINDOW_BY_EAR_VIEW_H
#define SR_WINDOW_BY_EAR_VIEW_H

#include "chosen.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_BY_EAR_VIEW (sr_by_ear_view_get_type())
G_DECLARE_FINAL_TYPE(SrByEarView, sr_by_ear_view, SR, BY_EAR_VIEW, AdwWindow)

/// Signal "learnt" (char* path): a phrase was kept in a file, and is to be practised. The view
/// closes after it.

/**
   Open it over a window. Nobody else may use the output as long as it is there.

   @param output    As in SrStreamSettings; copied.
   @param choice    Of it the layout, style and `unplanned` are used, for the picture.
   @param recording Path of a recording to open; NULL to ask for one.
*/
GtkWidget* sr_by_ear_view_new(GtkWindow* parent, const char* output, const SrChoice* choice,
                              const char* recording);

G_END_DECLS

#endif // SR_WINDOW_BY_EAR_VIEW_H
