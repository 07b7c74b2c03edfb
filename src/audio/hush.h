// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_HUSH_H
#define SR_AUDIO_HUSH_H

/// Let standard error lead nowhere; returns what sr_hush_end() needs.
int sr_hush_begin(void);

/// Give standard error back.
void sr_hush_end(int kept);

#endif // SR_AUDIO_HUSH_H
