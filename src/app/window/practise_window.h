// SPDX-License-Identifier: GPL-3.0-or-later

// The window: shows one sitting, and lets the player choose. It holds no rule of listening.

#ifndef SR_WINDOW_PRACTISE_WINDOW_H
#define SR_WINDOW_PRACTISE_WINDOW_H

#include "chosen.h"

#include <steadyreed/session.h>

#include <adwaita.h>

G_BEGIN_DECLS

#define SR_TYPE_PRACTISE_WINDOW (sr_practise_window_get_type())
G_DECLARE_FINAL_TYPE(SrPractiseWindow, sr_practise_window, SR, PRACTISE_WINDOW,
                     AdwApplicationWindow)

/// What the command line asks for.
typedef struct {
  const SrChoice* choice; ///< The phrase; its path is NULL for the one practised last, or the demo
  const SrSessionSettings* settings;
  gboolean speak;        ///< Verdicts are spoken, whatever was chosen before
  gboolean ladder;       ///< The tempo ladder is begun
  const char* recording; ///< To learn from by ear; NULL for none
} SrWindowRequest;

/// Open it. The request is copied.
GtkWidget* sr_practise_window_new(GtkApplication* application, const SrWindowRequest* request);

G_END_DECLS

#endif // SR_WINDOW_PRACTISE_WINDOW_H
