// SPDX-License-Identifier: GPL-3.0-or-later

// Plays a kept take to the player, on a thread of its own.

#ifndef SR_WINDOW_TAKE_PLAYER_H
#define SR_WINDOW_TAKE_PLAYER_H

#include <glib-object.h>

#include <stdbool.h>

G_BEGIN_DECLS

#define SR_TYPE_TAKE_PLAYER (sr_take_player_get_type())
G_DECLARE_FINAL_TYPE(SrTakePlayer, sr_take_player, SR, TAKE_PLAYER, GObject)

/// Signals: "over" when nothing plays any more; "said" (char*), why nothing could be played.

/// Play on an output, as in SrStreamSettings; NULL for the usual one.
SrTakePlayer* sr_take_player_new(const char* output);
/// Play a file; nothing while one is played.
void sr_take_player_play(SrTakePlayer* player, const char* path);
/// Stop soon; "over" follows.
void sr_take_player_stop(SrTakePlayer* player);
bool sr_take_player_is_busy(const SrTakePlayer* player);

G_END_DECLS

#endif // SR_WINDOW_TAKE_PLAYER_H
