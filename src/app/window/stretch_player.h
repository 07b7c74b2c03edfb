// SPDX-License-Identifier: GPL-3.0-or-later

// Plays a stretch of a recording, or what was written down from it, or both in turn, on a thread of
// its own; the main loop asks where it is.

#ifndef SR_WINDOW_STRETCH_PLAYER_H
#define SR_WINDOW_STRETCH_PLAYER_H

#include "stretch_sound.h"

#include <glib-object.h>

G_BEGIN_DECLS

#define SR_TYPE_STRETCH_PLAYER (sr_stretch_player_get_type())
G_DECLARE_FINAL_TYPE(SrStretchPlayer, sr_stretch_player, SR, STRETCH_PLAYER, GObject)

/// Signals: "changed" when it begins to play or is over; "said" (char*), why it cannot play.

/// @param output As in SrStreamSettings; copied.
SrStretchPlayer* sr_stretch_player_new(const char* output);
/// Play, after ending what is played. The order is copied.
void sr_stretch_player_begin(SrStretchPlayer* player, const SrStretchOrder* order);
/// End it; "changed" follows.
void sr_stretch_player_stop(SrStretchPlayer* player);
/// Whether it plays, or is about to.
gboolean sr_stretch_player_plays(SrStretchPlayer* player);
/// Whether its device is used, which nobody else may open until then; "changed" follows.
gboolean sr_stretch_player_busy(SrStretchPlayer* player);
/// Close the device; "changed" follows once it is closed. Nothing is played after this.
void sr_stretch_player_close(SrStretchPlayer* player);
SrStretchPlace sr_stretch_player_place(SrStretchPlayer* player);

G_END_DECLS

#endif // SR_WINDOW_STRETCH_PLAYER_H
