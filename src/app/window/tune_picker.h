// SPDX-License-Identifier: GPL-3.0-or-later

// The tunes of a file, searched by title or number, one of which is picked.

#ifndef SR_WINDOW_TUNE_PICKER_H
#define SR_WINDOW_TUNE_PICKER_H

#include "tune_model.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_TUNE_PICKER (sr_tune_picker_get_type())
G_DECLARE_FINAL_TYPE(SrTunePicker, sr_tune_picker, SR, TUNE_PICKER, GtkBox)

/// Signal "picked" (SrTuneItem*).

/// Show the tunes of a file; NULL for none.
void sr_tune_picker_show(SrTunePicker* picker, SrTuneModel* model);
/// Put the keyboard into its search field.
void sr_tune_picker_focus(SrTunePicker* picker);

G_END_DECLS

#endif // SR_WINDOW_TUNE_PICKER_H
