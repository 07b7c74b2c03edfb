// SPDX-License-Identifier: GPL-3.0-or-later

// The rounds of this sitting as a row of small pictures to step through.

#ifndef SR_WINDOW_ROUND_ROW_H
#define SR_WINDOW_ROUND_ROW_H

#include "painter.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_ROUND_ROW (sr_round_row_get_type())
G_DECLARE_FINAL_TYPE(SrRoundRow, sr_round_row, SR, ROUND_ROW, GtkWidget)

/// Signal "chosen": index of a round (guint).

GtkWidget* sr_round_row_new(void);
/// Show rounds, SrHeldRound, the one at `chosen` marked.
void sr_round_row_show(SrRoundRow* row, const GPtrArray* rounds, guint chosen);

G_END_DECLS

#endif // SR_WINDOW_ROUND_ROW_H
