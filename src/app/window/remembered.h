// SPDX-License-Identifier: GPL-3.0-or-later

// What the window remembers from one time to the next: its size, the phrase, what was chosen.

#ifndef SR_WINDOW_REMEMBERED_H
#define SR_WINDOW_REMEMBERED_H

#include "chosen.h"

/// Most recent phrases that are kept.
#define SR_MOST_RECENT 12

typedef struct {
  int width; ///< 0 if unknown
  int height;
  gboolean maximized;
  SrChoice choice; ///< The phrase practised last; its path is NULL if there is none
  double bpm;      ///< Its tempo, pulses a minute; NAN for its own
  gboolean click;
  int ready_midi; ///< As in SrSessionSettings, like the next two
  double start_wait_s;
  gboolean count_in_each;
  gboolean speak;
  gboolean tones;
  gboolean shown_setup; ///< The first start has offered it
  char** recent;        ///< Paths, the last first; NULL at the end
  char* input;          ///< Devices, as in SrStreamSettings; NULL for the usual ones
  char* output;
} SrRemembered;

/// Read it; usual values for what is missing or cannot be read.
SrRemembered sr_remembered_read(void);
/// Keep it, readable by its owner only. What cannot be written is not remembered.
void sr_remembered_write(const SrRemembered* remembered);
/// Put a path first among the recent ones.
void sr_remembered_add_recent(SrRemembered* remembered, const char* path);
void sr_remembered_clear(SrRemembered* remembered);

#endif // SR_WINDOW_REMEMBERED_H
