// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_FREE_LISTENING_H
#define SR_APP_FREE_LISTENING_H

#include "practice.h"

/// Listen without a phrase and tell what is heard until a key is pressed or nobody plays any more.
/// Nothing is recorded. Returns an exit status.
int sr_listen_freely(const SrPracticeRequest* request);

#endif // SR_APP_FREE_LISTENING_H
