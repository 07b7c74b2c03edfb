// SPDX-License-Identifier: GPL-3.0-or-later

// What was written down from a recording: its picture, what was guessed and how sure, with choices
// to correct it, and what can be done with it.

#ifndef SR_WINDOW_WRITTEN_BOX_H
#define SR_WINDOW_WRITTEN_BOX_H

#include "stretch_writing.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_WRITTEN_BOX (sr_written_box_get_type())
G_DECLARE_FINAL_TYPE(SrWrittenBox, sr_written_box, SR, WRITTEN_BOX, GtkBox)

/// Signals: "corrected", the player chose another key, meter, tempo or reading of octaves;
/// "practise-asked"; "save-asked"; "hear-asked" (gboolean both), what was written, or the recording
/// before it.

/// Show what was written down; it must stay until another is shown.
void sr_written_box_show(SrWrittenBox* box, const SrStretchWriting* writing);
/// Guess everything again: another recording is open. The title is one to begin with.
void sr_written_box_reset(SrWrittenBox* box, const char* title);
/// Set key, meter, tempo, upbeat and octaves of a wish as they are chosen; its key must be NULL
/// before.
void sr_written_box_wish(SrWrittenBox* box, SrStretchWish* wish);
/// The title as it is typed.
const char* sr_written_box_title(SrWrittenBox* box);
/// Where it sounds now, whole notes from the start; NAN if it does not.
void sr_written_box_line(SrWrittenBox* box, double at);
/// Say on the button that plays what is played now that it stops that.
void sr_written_box_set_playing(SrWrittenBox* box, gboolean written, gboolean both);
/// Nothing can be done with it while it is written down again; it can still be corrected.
void sr_written_box_set_busy(SrWrittenBox* box, gboolean busy);
/// Put the keyboard onto what is to be done next: to hear both.
void sr_written_box_focus(SrWrittenBox* box);

G_END_DECLS

#endif // SR_WINDOW_WRITTEN_BOX_H
