// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_QUIET_LIBRARIES_H
#define SR_AUDIO_QUIET_LIBRARIES_H

/// Redirect standard error to nowhere; returns the argument for sr_hush_end().
int sr_hush_begin(void);

/// Restore standard error.
void sr_hush_end(int kept);

#endif // SR_AUDIO_QUIET_LIBRARIES_H
