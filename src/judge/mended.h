// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_JUDGE_MENDED_H
#define SR_JUDGE_MENDED_H

/// A note is put right so soon behind the end of another in its place, s (common practice, no
/// source).
#define SR_MENDED_S 0.25

#endif // SR_JUDGE_MENDED_H
