// SPDX-License-Identifier: GPL-3.0-or-later

// The cells around the buttons in a GtkFlowBox.

#ifndef SR_WINDOW_FLOW_CELLS_H
#define SR_WINDOW_FLOW_CELLS_H

#include <gtk/gtk.h>

/**
   Let the buttons take the focus, not the cells. The cell of a button that cannot be pressed now
   takes it in its place, with the button's name: GTK 4.8 does not go past a cell that holds nothing
   to be focused, and Tab would end before it.
*/
void sr_flow_cells_pass_focus(GtkFlowBox* box);

#endif // SR_WINDOW_FLOW_CELLS_H
