// SPDX-License-Identifier: GPL-3.0-or-later

#include "night.h"

#include <adwaita.h>

static void
show(GtkWidget* const widget)
{
  if (adw_style_manager_get_dark(adw_style_manager_get_default())) {
    gtk_widget_add_css_class(widget, "night");
  } else {
    gtk_widget_remove_css_class(widget, "night");
  }
}

void
sr_night_follow(GtkWidget* const widget)
{
  g_signal_connect_object(adw_style_manager_get_default(), "notify::dark", G_CALLBACK(show), widget,
                          G_CONNECT_SWAPPED);
  show(widget);
}
