// SPDX-License-Identifier: GPL-3.0-or-later

// Which of a tune is practised: its part, its bars, and how far it is transposed.

#ifndef SR_WINDOW_BARS_GROUP_H
#define SR_WINDOW_BARS_GROUP_H

#include "chosen.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_BARS_GROUP (sr_bars_group_get_type())
G_DECLARE_FINAL_TYPE(SrBarsGroup, sr_bars_group, SR, BARS_GROUP, AdwPreferencesGroup)

/// Signal "changed": the player has chosen something else.

/// Show a tune and what is chosen of it. What does not fit the tune any more is shown as near as
/// can be.
void sr_bars_group_show(SrBarsGroup* group, const SrTuneOutline* outline, const SrChoice* choice);
/// Take what is being typed into its fields.
void sr_bars_group_commit(SrBarsGroup* group);
/// Put what is chosen into a choice: its bars, part and transposition.
void sr_bars_group_get(SrBarsGroup* group, SrChoice* choice);

G_END_DECLS

#endif // SR_WINDOW_BARS_GROUP_H
