// SPDX-License-Identifier: GPL-3.0-or-later

// The tuner's picture: the note's name, large, and a mark on a scale of 50 cents to either side.

#ifndef SR_WINDOW_TUNER_DIAL_H
#define SR_WINDOW_TUNER_DIAL_H

#include "tuner_reading.h"

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_TUNER_DIAL (sr_tuner_dial_get_type())
G_DECLARE_FINAL_TYPE(SrTunerDial, sr_tuner_dial, SR, TUNER_DIAL, GtkWidget)

GtkWidget* sr_tuner_dial_new(void);
/// Show a reading; it is drawn again only if it looks different.
void sr_tuner_dial_show(SrTunerDial* dial, const SrTunerReading* reading);

G_END_DECLS

#endif // SR_WINDOW_TUNER_DIAL_H
