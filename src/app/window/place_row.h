// SPDX-License-Identifier: GPL-3.0-or-later

// A file that is offered, as a row. Its activation is also an action, so that a screen reader may
// pick it without keys.

#ifndef SR_WINDOW_PLACE_ROW_H
#define SR_WINDOW_PLACE_ROW_H

#include "phrase_places.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_PLACE_ROW (sr_place_row_get_type())
G_DECLARE_FINAL_TYPE(SrPlaceRow, sr_place_row, SR, PLACE_ROW, AdwActionRow)

/// Signal "activated", as of any row.
GtkWidget* sr_place_row_new(const SrPhrasePlace* place);
const char* sr_place_row_path(SrPlaceRow* row);

G_END_DECLS

#endif // SR_WINDOW_PLACE_ROW_H
