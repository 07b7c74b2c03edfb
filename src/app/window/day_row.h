// SPDX-License-Identifier: GPL-3.0-or-later

// One item of today's list.

#ifndef SR_WINDOW_DAY_ROW_H
#define SR_WINDOW_DAY_ROW_H

#include "day_reading.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_DAY_ROW (sr_day_row_get_type())
G_DECLARE_FINAL_TYPE(SrDayRow, sr_day_row, SR, DAY_ROW, AdwActionRow)

/// Signals: "changed" when it is left out or taken in; "alone" when it alone is to be played.

GtkWidget* sr_day_row_new(const SrDay* day, size_t index, gboolean wanted);
gboolean sr_day_row_is_wanted(SrDayRow* row);
/// Say whether it is the one that comes next.
void sr_day_row_set_next(SrDayRow* row, gboolean next);

G_END_DECLS

#endif // SR_WINDOW_DAY_ROW_H
