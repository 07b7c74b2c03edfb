// SPDX-License-Identifier: GPL-3.0-or-later

// Loss of microphone samples: where, and how many.

#ifndef SR_AUDIO_LAPSE_H
#define SR_AUDIO_LAPSE_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#define SR_LAPSES 64u

/// Samples lost in one place (a lapse).
typedef struct {
  uint64_t place; ///< Samples delivered before it
  uint64_t lost;
} SrLapse;

/// Lock-free queue of lapses from the callback to the reader.
typedef struct {
  SrLapse lapses[SR_LAPSES];
  _Atomic uint32_t written;
  _Atomic uint32_t taken;
} SrLapseQueue;

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
  double missing_s;   ///< Found missing and not yet returned by sr_pace_missing()
} SrPace;

// Real-time code: no lock, no allocation, no system call, bounded work

/// Queue a lapse; false if there is no room.
bool sr_lapse_write(SrLapseQueue* queue, SrLapse lapse);
/// Look at the next lapse without taking it; NULL if there is none.
const SrLapse* sr_lapse_peek(SrLapseQueue* queue);
/// Remove the lapse returned by sr_lapse_peek().
void sr_lapse_take(SrLapseQueue* queue);

/// Start again from any frame.
void sr_pace_begin(SrPace* pace, double rate_hz);
/// Record that at `now_s` on the clock the frames before `frame` had been delivered.
void sr_pace_note(SrPace* pace, double now_s, uint64_t frame);
/**
   Clock time of frame 0, by the device's pace.

   @return INFINITY before sr_pace_note(); NAN while the pace is not steady to within `most_s` from
           one half-second stretch to the next, as at the start when buffers fill.
*/
double sr_pace_zero_s(const SrPace* pace, double most_s);
/// Frames missing without a report by the device: for over a second nothing came as early as it
/// should. 0 if there are none; at most 5 seconds. Each loss is returned once.
uint64_t sr_pace_missing(SrPace* pace);
/// Number of frames lost before these, given that the device reported a loss: 1 to 5 seconds'
/// worth, 1 if the clock does not tell.
uint64_t sr_pace_lost(SrPace* pace, double now_s, uint64_t frame);

#endif // SR_AUDIO_LAPSE_H
