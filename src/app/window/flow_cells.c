// SPDX-License-Identifier: GPL-3.0-or-later

#include "flow_cells.h"

void
sr_flow_cells_pass_focus(GtkFlowBox* const box)
{
  for (GtkWidget* cell = gtk_widget_get_first_child(GTK_WIDGET(box)); cell;
       cell = gtk_widget_get_next_sibling(cell)) {
    GtkWidget* const button = gtk_widget_get_first_child(cell);
    char* name = NULL;
    gtk_widget_set_focusable(cell, FALSE);
    if (GTK_IS_BUTTON(button) || GTK_IS_CHECK_BUTTON(button)) {
      g_object_get(button, "label", &name, NULL);
    }
    if (name) {
      gtk_accessible_update_property(GTK_ACCESSIBLE(cell), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
      g_object_bind_property(button, "sensitive", cell, "focusable",
                             G_BINDING_SYNC_CREATE | G_BINDING_INVERT_BOOLEAN);
    }
    g_free(name);
  }
}
