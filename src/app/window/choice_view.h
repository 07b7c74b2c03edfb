// SPDX-License-Identifier: GPL-3.0-or-later

// What is chosen, as a small picture with what was assumed; or why it cannot be practised.

#ifndef SR_WINDOW_CHOICE_VIEW_H
#define SR_WINDOW_CHOICE_VIEW_H

#include "chosen.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_CHOICE_VIEW (sr_choice_view_get_type())
G_DECLARE_FINAL_TYPE(SrChoiceView, sr_choice_view, SR, CHOICE_VIEW, GtkBox)

void sr_choice_view_show(SrChoiceView* view, SrChosen* chosen);
/// Say why there is no phrase, and where in which file.
void sr_choice_view_say(SrChoiceView* view, const SrError* error);

G_END_DECLS

#endif // SR_WINDOW_CHOICE_VIEW_H
