// SPDX-License-Identifier: GPL-3.0-or-later

// Where the output's frames lie on the input's clock.
//
// Each device's frames are counted against the computer's clock (loss_queue.h). Between two devices
// only what lasts is real: samples once given play in their turn, however early or late they were
// fetched. Measured: PulseAudio fetches up to one of its blocks (12 ms) early or late and wanders
// between the two within 17 s when the computer is busy; a click that followed that wandered too.
// So the clocks are compared by the least distance of each over half a minute, and while a click
// sounds, what the first comparison was off stays as it is.

#ifndef SR_AUDIO_CLOCK_LINK_H
#define SR_AUDIO_CLOCK_LINK_H

#include <stdbool.h>
#include <stdint.h>

/// The link of two devices, and what it was told of them.
typedef struct {
  double rate_hz;
  bool linked;
  int64_t shift;    ///< From an output frame to the input frame at the same time; if linked
  uint64_t doubted; ///< Last output frame at which the offset was small enough to be believed
  /// Least clock times of frame 0 of the output and of the input, s: in this stretch of time and in
  /// the one before; INFINITY if unknown
  double least_s[2][2];
  uint64_t turn; ///< Output frame at which the next stretch begins
  double kept;   ///< Offset that stays while a click sounds, frames; NAN while unknown
} SrClockLink;

/// What is known of both devices now.
typedef struct {
  double put_zero_s;   ///< Clock time of the output's frame 0, s; as sr_clock_drift_zero_s()
  double heard_zero_s; ///< … of the input's; NAN if unknown
  uint64_t put;        ///< Output frames so far
  uint64_t heard;      ///< Input frames so far
  bool restarted;      ///< The output had an underrun since the last comparison that was possible
  bool clicks;         ///< A click is running
} SrClocks;

// Real-time code: no lock, no allocation, no system call, bounded work

/// Begin without a link.
void sr_clock_link_begin(SrClockLink* link, double rate_hz);
/// Compare the clocks, and link them or move the link. Returns whether they could be compared.
bool sr_clock_link_compare(SrClockLink* link, const SrClocks* clocks);

#endif // SR_AUDIO_CLOCK_LINK_H
