// SPDX-License-Identifier: GPL-3.0-or-later

// Which microphone and which output, from a list that is made on another thread.

#ifndef SR_WINDOW_DEVICE_PANE_H
#define SR_WINDOW_DEVICE_PANE_H

#include <gtk/gtk.h>

G_BEGIN_DECLS

#define SR_TYPE_DEVICE_PANE (sr_device_pane_get_type())
G_DECLARE_FINAL_TYPE(SrDevicePane, sr_device_pane, SR, DEVICE_PANE, GtkBox)

/// Signal: "listed" once the devices are known, or cannot be.

/**
   List the devices. No session and no measurement may run until "listed".

   @param input, output Those used now, as in SrStreamSettings; NULL for the usual ones. One that is
                        not there is offered all the same.
*/
void sr_device_pane_list(SrDevicePane* pane, const char* input, const char* output);
/// Whether the list is being made.
gboolean sr_device_pane_busy(SrDevicePane* pane);
/// What is chosen, as in SrStreamSettings; NULL for the usual one.
const char* sr_device_pane_input(SrDevicePane* pane);
const char* sr_device_pane_output(SrDevicePane* pane);

G_END_DECLS

#endif // SR_WINDOW_DEVICE_PANE_H
