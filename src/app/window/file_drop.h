// SPDX-License-Identifier: GPL-3.0-or-later

// Files dropped on a window.

#ifndef SR_WINDOW_FILE_DROP_H
#define SR_WINDOW_FILE_DROP_H

#include <gtk/gtk.h>

/// Takes the path of a dropped file.
typedef void (*SrFileDropTake)(GtkWidget* widget, const char* path);

/// Let one file at a time be dropped on a widget. What is not on this computer is refused.
void sr_file_drop_let(GtkWidget* widget, SrFileDropTake take);

#endif // SR_WINDOW_FILE_DROP_H
