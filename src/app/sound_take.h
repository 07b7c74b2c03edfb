// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_SOUND_TAKE_H
#define SR_APP_SOUND_TAKE_H

#include "option_values.h"

#include <stdbool.h>

/// A recording to be heard.
typedef struct {
  const char* path;
  SrTimes times;      ///< Which stretch of it
  double speed;       ///< 1 as recorded; see slow.h
  double rate_hz;     ///< Of the output file; NAN for that of the recording
  const char* output; ///< NULL for the loudspeaker
} SrTakeSound;

/// Whether a file is a recording, not a text: it is not named .abc, and one of its first bytes is
/// 0. False if it cannot be read, or only once.
bool sr_sound_take_is(const char* path);

/// Play a recording, or write it to a file. Returns an exit status.
int sr_sound_take(const SrTakeSound* asked);

#endif // SR_APP_SOUND_TAKE_H
