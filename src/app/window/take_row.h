// SPDX-License-Identifier: GPL-3.0-or-later

// One kept take in a list.

#ifndef SR_WINDOW_TAKE_ROW_H
#define SR_WINDOW_TAKE_ROW_H

#include "takes_reading.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_TAKE_ROW (sr_take_row_get_type())
G_DECLARE_FINAL_TYPE(SrTakeRow, sr_take_row, SR, TAKE_ROW, AdwActionRow)

/// Signals: "mark" (gboolean) when it is to be kept for good or no longer; "hear", or stop; "see",
/// its verdict.

/// "29 November 2026, 19:04"; g_free() it.
char* sr_take_row_date(const SrTakeEntry* take);
GtkWidget* sr_take_row_new(const SrKeptTakes* kept, size_t index);
size_t sr_take_row_index(const SrTakeRow* row);
/// Show it as its entry now is.
void sr_take_row_update(SrTakeRow* row, const SrKeptTakes* kept);
/// Whether it is the one that plays, and whether another may be heard.
void sr_take_row_set_playing(SrTakeRow* row, gboolean playing, gboolean may);

G_END_DECLS

#endif // SR_WINDOW_TAKE_ROW_H
