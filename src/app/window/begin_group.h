// SPDX-License-Identifier: GPL-3.0-or-later

// When the click counts in, so that no hand is needed.

#ifndef SR_WINDOW_BEGIN_GROUP_H
#define SR_WINDOW_BEGIN_GROUP_H

#include <steadyreed/session.h>

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_BEGIN_GROUP (sr_begin_group_get_type())
G_DECLARE_FINAL_TYPE(SrBeginGroup, sr_begin_group, SR, BEGIN_GROUP, AdwPreferencesGroup)

/// Show `ready_midi`, `start_wait_s` and `count_in_each`.
void sr_begin_group_show(SrBeginGroup* group, const SrSessionSettings* settings);
/// Put these into the settings.
void sr_begin_group_get(SrBeginGroup* group, SrSessionSettings* settings);

G_END_DECLS

#endif // SR_WINDOW_BEGIN_GROUP_H
