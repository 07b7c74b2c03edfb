// SPDX-License-Identifier: GPL-3.0-or-later

// The setup, step by step: choose the devices, measure, see what was found, keep it or not. Every
// step can be skipped or repeated.

#ifndef SR_WINDOW_SETUP_SHEET_H
#define SR_WINDOW_SETUP_SHEET_H

#include <steadyreed/stream.h>

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_SETUP_SHEET (sr_setup_sheet_get_type())
G_DECLARE_FINAL_TYPE(SrSetupSheet, sr_setup_sheet, SR, SETUP_SHEET, AdwWindow)

/**
   Open it over a window. No session may run as long as it is there; when it goes, its devices are
   closed. Signal: "kept" (char* input, char* output), the devices chosen, NULL for the usual ones.

   @param stream Copied, with its names of devices.
*/
GtkWidget* sr_setup_sheet_new(GtkWindow* parent, const SrStreamSettings* stream);

G_END_DECLS

#endif // SR_WINDOW_SETUP_SHEET_H
