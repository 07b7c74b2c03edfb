// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_FREE_VIEW_H
#define SR_APP_FREE_VIEW_H

#include <steadyreed/session.h>

/// Listen without a phrase and print what is heard until a key is pressed or nobody plays any more.
/// Nothing is recorded. Returns an exit status.
int sr_listen_freely(const SrSessionSettings* settings);

#endif // SR_APP_FREE_VIEW_H
