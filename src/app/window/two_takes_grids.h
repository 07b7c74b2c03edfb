// SPDX-License-Identifier: GPL-3.0-or-later

// The words about two takes, in the cells of a grid.

#ifndef SR_WINDOW_TWO_TAKES_GRIDS_H
#define SR_WINDOW_TWO_TAKES_GRIDS_H

#include <steadyreed/show_two_takes.h>

#include <gtk/gtk.h>

/// Put the table of figures in a grid, in place of what is in it.
void sr_two_takes_put_figures(GtkGrid* grid, const SrTwoTakes* two);
/// Put what went wrong bar by bar in a grid, in place of what is in it; `narrow` for one take under
/// the other.
void sr_two_takes_put_bars(GtkGrid* grid, const SrShownTwo* shown, gboolean narrow);

#endif // SR_WINDOW_TWO_TAKES_GRIDS_H
