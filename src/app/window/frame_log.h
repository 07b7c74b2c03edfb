// SPDX-License-Identifier: GPL-3.0-or-later

// How smoothly the window draws, for measuring it.

#ifndef SR_WINDOW_FRAME_LOG_H
#define SR_WINDOW_FRAME_LOG_H

#include <gtk/gtk.h>

/// If $STEADYREED_FRAMES names a file, append a line to it for each second in which a window drew:
/// the second since 1970, the frames, and the longest time between two of them in ms.
void sr_frame_log_begin(GtkWidget* window);

#endif // SR_WINDOW_FRAME_LOG_H
