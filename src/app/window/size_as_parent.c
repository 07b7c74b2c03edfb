// SPDX-License-Identifier: GPL-3.0-or-later

#include "size_as_parent.h"

void
sr_size_as_parent(GtkWindow* const window, GtkWindow* const parent, const int width,
                  const int height)
{
  const int wide = gtk_widget_get_width(GTK_WIDGET(parent));
  const int high = gtk_widget_get_height(GTK_WIDGET(parent));
  gtk_window_set_default_size(window, wide > 0 ? wide : width, high > 0 ? high : height);
  if (gtk_window_is_maximized(parent)) {
    gtk_window_maximize(window);
  }
  if (gtk_window_is_fullscreen(parent)) {
    gtk_window_fullscreen(window);
  }
}
