// SPDX-License-Identifier: GPL-3.0-or-later

// The desktop's dialogs for opening a recording, and for saving what was written down from it.

#ifndef SR_WINDOW_RECORDING_CHOOSER_H
#define SR_WINDOW_RECORDING_CHOOSER_H

#include <gtk/gtk.h>

/// A dialog that opens a recording; it is still to be shown.
GtkFileChooserNative* sr_recording_chooser_open(GtkWindow* parent);
/// A dialog that saves ABC notation; it asks before a file is written over. The title is the name
/// it begins with.
GtkFileChooserNative* sr_recording_chooser_save(GtkWindow* parent, const char* title);
/// The path that was chosen, g_free() it; NULL if none was.
char* sr_recording_chooser_path(GtkFileChooserNative* chooser, int response);

#endif // SR_WINDOW_RECORDING_CHOOSER_H
