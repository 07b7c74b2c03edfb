// SPDX-License-Identifier: GPL-3.0-or-later

// Plays a stretch of a recording, or what was written down from it, or both in turn, on a thread of
// its own; the main loop asks where it is.

#ifndef SR_WINDOW_STRETCH_PLAYER_H
#define SR_WINDOW_STRETCH_PLAYER_H

#include "chosen.h"

#include <glib-object.h>

G_BEGIN_DECLS

#define SR_TYPE_STRETCH_PLAYER (sr_stretch_player_get_type())
G_DECLARE_FINAL_TYPE(SrStretchPlayer, sr_stretch_player, SR, STRETCH_PLAYER, GObject)

/// What is to be heard.
typedef struct {
  const char* path; ///< The recording
  double from_s;    ///< Its stretch
  double to_s;
  SrChosen* written;   ///< What was written down; NULL for the recording alone
  double reference_hz; ///< A4 of what was written, as the recording has it
  bool recorded;       ///< The recording is heard, before what was written
  double speed;        ///< As in slow.h
  bool again;          ///< Over and over
  double pause_s;      ///< Between one and the next
} SrStretchOrder;

/// Where it is.
typedef struct {
  bool sounds;        ///< Something sounds now, and no pause
  double recording_s; ///< Time in the recording; NAN if that is not what sounds
  double written;     ///< Whole notes from the start of what was written; NAN likewise
} SrStretchPlace;

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
