// SPDX-License-Identifier: GPL-3.0-or-later

// What needs the microphone or the loudspeaker for itself: the setup, the tuner,
// the kept takes, and learning by ear. Practising ends before one of them opens, and goes on after
// it.

#ifndef SR_WINDOW_SIDE_VIEWS_H
#define SR_WINDOW_SIDE_VIEWS_H

#include "one_sitting.h"
#include "remembered.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_SIDE_VIEWS (sr_side_views_get_type())
G_DECLARE_FINAL_TYPE(SrSideViews, sr_side_views, SR, SIDE_VIEWS, GObject)

typedef enum { SR_SIDE_SETUP, SR_SIDE_TUNER, SR_SIDE_TAKES, SR_SIDE_BY_EAR } SrSideView;

/**
   Signals: "over" (gboolean listened), a view has gone: whether practising went on before, and
   should again; "closing", a view has gone that had to, see sr_side_views_close(); "learnt" (char*
   path), a phrase was learnt by ear, and is to be practised after "over".

   @param window     Views open over it; it must outlive this.
   @param sitting    Ended before.
   @param stream     Devices that practising uses. Setup may change its names, which then are those
                     of `remembered`.
   @param remembered The devices chosen are kept in it.
*/
SrSideViews* sr_side_views_new(GtkWindow* window, SrSitting* sitting, SrStreamSettings* stream,
                               SrRemembered* remembered);
/// Open one; nothing if one is open.
void sr_side_views_open(SrSideViews* views, SrSideView view);
/// Open a recording to learn from by ear; nothing if a view is open.
void sr_side_views_open_recording(SrSideViews* views, const char* path);
/// Whether one is open, or about to.
gboolean sr_side_views_busy(SrSideViews* views);
/// Close the one that is open; "closing" follows, unless the player still has to answer it.
void sr_side_views_close(SrSideViews* views);
/**
   Offer the setup, once, if nothing was measured yet.

   @param offer   Shown until it is taken, refused, or playing begins.
   @param not_now Refuses it.
*/
void sr_side_views_offer_setup(SrSideViews* views, GtkWidget* offer, GtkButton* not_now);

G_END_DECLS

#endif // SR_WINDOW_SIDE_VIEWS_H
