// SPDX-License-Identifier: GPL-3.0-or-later

// Two takes of a phrase side by side, seen and heard: what differs, both rounds one above the
// other, the figures, and what went wrong bar by bar.

#ifndef SR_WINDOW_TWO_TAKES_VIEW_H
#define SR_WINDOW_TWO_TAKES_VIEW_H

#include "compared_take.h"
#include "one_sitting.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_TWO_TAKES_VIEW (sr_two_takes_view_get_type())
G_DECLARE_FINAL_TYPE(SrTwoTakesView, sr_two_takes_view, SR, TWO_TAKES_VIEW, AdwWindow)

/**
   A window over another; empty until takes are shown in it.

   @param sitting Has the sound of its rounds. It may listen on.
*/
GtkWidget* sr_two_takes_view_new(GtkWindow* parent, SrSitting* sitting);
/// Offer one more take, to be chosen as the first or the second. All must be of the same notes.
void sr_two_takes_view_offer(SrTwoTakesView* view, SrComparedTake* take);
/// Show two takes, which are offered if they were not yet.
void sr_two_takes_view_show(SrTwoTakesView* view, SrComparedTake* first, SrComparedTake* second);

/// Say a sentence while no takes are shown.
void sr_two_takes_view_say(SrTwoTakesView* view, const char* words);
/// Whether takes are shown.
gboolean sr_two_takes_view_shows(SrTwoTakesView* view);

G_END_DECLS

#endif // SR_WINDOW_TWO_TAKES_VIEW_H
