// SPDX-License-Identifier: GPL-3.0-or-later

// The size of a view that covers the window under it.

#ifndef SR_WINDOW_SIZE_AS_PARENT_H
#define SR_WINDOW_SIZE_AS_PARENT_H

#include <gtk/gtk.h>

/// Make a window as large as the one under it, since it is to be read from as far away; of this
/// width and height, pixels, if that one has no size yet.
void sr_size_as_parent(GtkWindow* window, GtkWindow* parent, int width, int height);

#endif // SR_WINDOW_SIZE_AS_PARENT_H
