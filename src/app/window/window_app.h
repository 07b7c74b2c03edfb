// SPDX-License-Identifier: GPL-3.0-or-later

// The window's program: from the command line to the last window's end.

#ifndef SR_WINDOW_WINDOW_APP_H
#define SR_WINDOW_WINDOW_APP_H

#include <steadyreed/phrase.h>
#include <steadyreed/session.h>

#include <stdbool.h>

/// What `practise` was asked for.
typedef struct {
  const char* path; ///< NULL for the phrase practised last, or the demo
  const SrPhraseChoice* choice;
  const char* layout; ///< As in SrPlanWish
  const char* style;
  const SrSessionSettings* settings;
  bool speak;
  bool ladder; ///< Begin with the tempo ladder
} SrWindowStart;

/// Whether this build has a window, and there is a display to open it on.
bool sr_window_can_open(void);
/// Open it and run until it is closed. Returns an exit status.
int sr_window_run(const SrWindowStart* start);

#endif // SR_WINDOW_WINDOW_APP_H
