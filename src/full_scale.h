// SPDX-License-Identifier: GPL-3.0-or-later

// When samples count as overdriven.

#ifndef SR_FULL_SCALE_H
#define SR_FULL_SCALE_H

/// Samples of this size or larger are at full scale.
#define SR_FULL_SCALE 0.9999f
/// This many samples at full scale in a row are clipped (common practice, no source).
#define SR_CLIPPED_RUN 3u

#endif // SR_FULL_SCALE_H
