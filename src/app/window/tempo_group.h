// SPDX-License-Identifier: GPL-3.0-or-later

// The tempo and the click.

#ifndef SR_WINDOW_TEMPO_GROUP_H
#define SR_WINDOW_TEMPO_GROUP_H

#include <steadyreed/session.h>

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_TEMPO_GROUP (sr_tempo_group_get_type())
G_DECLARE_FINAL_TYPE(SrTempoGroup, sr_tempo_group, SR, TEMPO_GROUP, AdwPreferencesGroup)

/// Show what is set; `click` tells whether there is a click at all.
void sr_tempo_group_show(SrTempoGroup* group, const SrSessionSettings* settings, gboolean click);
/// Tempo of the phrase itself, pulses a minute. It is shown unless the player has set another.
void sr_tempo_group_set_own(SrTempoGroup* group, double bpm);
/// Go back to the tempo of the phrase itself.
void sr_tempo_group_reset(SrTempoGroup* group);
/// Put what is set into the settings: the target, the pulses that are clicked and the silent bars.
/// Returns whether there is a click at all.
gboolean sr_tempo_group_get(SrTempoGroup* group, SrSessionSettings* settings);

G_END_DECLS

#endif // SR_WINDOW_TEMPO_GROUP_H
