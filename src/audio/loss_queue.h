// SPDX-License-Identifier: GPL-3.0-or-later

// Loss of microphone samples: where, and how many.

#ifndef SR_AUDIO_LOSS_QUEUE_H
#define SR_AUDIO_LOSS_QUEUE_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#define SR_LOSS_QUEUE_SIZE 64u

/// Samples lost in one place (a loss).
typedef struct {
  uint64_t place; ///< Samples delivered before it
  uint64_t lost;
} SrLoss;

/// Lock-free queue of losses from the callback to the reader.
typedef struct {
  SrLoss losses[SR_LOSS_QUEUE_SIZE];
  _Atomic uint32_t written;
  _Atomic uint32_t taken;
} SrLossQueue;

/**
   The device's frame count against the clock.

   The clock is the same for all devices of a computer. A callback may come late, never early, so
   the least distance of clock and count over the last seconds gives the device's own pace, and a
   larger distance shows missing frames.
*/
typedef struct {
  double rate_hz;
  double least_s[2];  ///< Least distance in this stretch and in the previous one
  uint64_t next_turn; ///< Frame at which the next stretch begins
  double usual_s;     ///< Usual least distance of a stretch; INFINITY while unknown
  unsigned behind;    ///< Consecutive stretches with much more
  double missing_s;   ///< Found missing and not yet returned by sr_clock_drift_missing()
} SrClockDrift;

// Real-time code: no lock, no allocation, no system call, bounded work

/// Queue a loss; false if there is no room.
bool sr_loss_write(SrLossQueue* queue, SrLoss loss);
/// Look at the next loss without taking it; NULL if there is none.
const SrLoss* sr_loss_peek(SrLossQueue* queue);
/// Remove the loss returned by sr_loss_peek().
void sr_loss_take(SrLossQueue* queue);

/// Start again from any frame.
void sr_clock_drift_begin(SrClockDrift* pace, double rate_hz);
/// Record that at `now_s` on the clock the frames before `frame` had been delivered.
void sr_clock_drift_note(SrClockDrift* pace, double now_s, uint64_t frame);
/**
   Clock time of frame 0, by the device's pace.

   @return INFINITY before sr_clock_drift_note(); NAN while the pace is not steady to within
   `most_s` from one half-second stretch to the next, as at the start when buffers fill.
*/
double sr_clock_drift_zero_s(const SrClockDrift* pace, double most_s);
/// Frames missing without a report by the device: for over a second nothing came as early as it
/// should. 0 if there are none; at most 5 seconds. Each loss is returned once.
uint64_t sr_clock_drift_missing(SrClockDrift* pace);
/// Number of frames lost before these, given that the device reported a loss: 1 to 5 seconds'
/// worth, 1 if the clock does not tell.
uint64_t sr_clock_drift_lost(SrClockDrift* pace, double now_s, uint64_t frame);

#endif // SR_AUDIO_LOSS_QUEUE_H
