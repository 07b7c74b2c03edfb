// SPDX-License-Identifier: GPL-3.0-or-later

// Where the output's frames lie on the input's clock.
//
// Each device's frames are counted against the computer's clock (loss_queue.h). Between two devices
// only what lasts is real: samples once given play in their turn, however early or late they were
// fetched. Measured: on a busy computer PulseAudio fetches them ever earlier, by one of its blocks
// (12 ms) within 17 s, and then late again; a click that followed that wandered too. So over half a
// minute the least and the most offset must both have moved before the link moves.

#ifndef SR_AUDIO_CLOCK_LINK_H
#define SR_AUDIO_CLOCK_LINK_H

#include <stdbool.h>
#include <stdint.h>

/// The link of two devices. Offsets are in frames, from an output frame to the input frame of the
/// same time.
typedef struct {
  double rate_hz;
  bool linked;
  int64_t shift;     ///< The offset that counts, if linked
  double bias;       ///< Middle of what is measured, from `shift`; constant in one run
  double least[2];   ///< Least offset in this stretch of time and in the one before
  double most[2];    ///< Most
  double kept[2];    ///< Least and most to which `shift` belongs; NAN while unknown
  uint64_t turn;     ///< Output frame at which the next stretch begins
  uint64_t compared; ///< Output frames at the last comparison
  double doubted_s;  ///< For how long the offset has been too large to be a wander
} SrClockLink;

/// What is known of both devices now.
typedef struct {
  double put_zero_s;   ///< Clock time of the output's frame 0, s; as sr_clock_drift_zero_s()
  double heard_zero_s; ///< … of the input's; NAN if unknown
  uint64_t put;        ///< Output frames so far
  uint64_t heard;      ///< Input frames so far
  bool restarted;      ///< The output had an underrun since the last comparison that was possible
} SrClocks;

// Real-time code: no lock, no allocation, no system call, bounded work

/// Begin without a link.
void sr_clock_link_begin(SrClockLink* link, double rate_hz);
/// Compare the clocks, and link them or move the link. Returns whether they could be compared.
bool sr_clock_link_compare(SrClockLink* link, const SrClocks* clocks);

#endif // SR_AUDIO_CLOCK_LINK_H
