// SPDX-License-Identifier: GPL-3.0-or-later

// Where a phrase comes from: a file of the player's, a recent one, or a shipped exercise.

#ifndef SR_WINDOW_PLACES_PANE_H
#define SR_WINDOW_PLACES_PANE_H

#include "phrase_places.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_PLACES_PANE (sr_places_pane_get_type())
G_DECLARE_FINAL_TYPE(SrPlacesPane, sr_places_pane, SR, PLACES_PANE, AdwBin)

/// Signals: "picked" (char* path); "open-asked", for a file that is not listed; "recording-asked",
/// for a recording to learn from.

/// Show what is offered.
void sr_places_pane_show(SrPlacesPane* pane, const SrPhrasePlaces* places);

G_END_DECLS

#endif // SR_WINDOW_PLACES_PANE_H
