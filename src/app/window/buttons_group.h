// SPDX-License-Identifier: GPL-3.0-or-later

// What is planned for the phrase: on which instrument, in which style, or nothing.

#ifndef SR_WINDOW_BUTTONS_GROUP_H
#define SR_WINDOW_BUTTONS_GROUP_H

#include "chosen.h"

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_BUTTONS_GROUP (sr_buttons_group_get_type())
G_DECLARE_FINAL_TYPE(SrButtonsGroup, sr_buttons_group, SR, BUTTONS_GROUP, AdwPreferencesGroup)

/// Signal "changed": the player has chosen something else.

/// Show the layouts and styles there are, and which are chosen.
void sr_buttons_group_show(SrButtonsGroup* group, const SrChoice* choice);
/// Put what is chosen into a choice: its layout, its style, and whether there is a plan at all.
void sr_buttons_group_get(SrButtonsGroup* group, SrChoice* choice);

G_END_DECLS

#endif // SR_WINDOW_BUTTONS_GROUP_H
