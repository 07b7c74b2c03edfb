// SPDX-License-Identifier: GPL-3.0-or-later

// What was lost of the microphone: where, and how much.

#ifndef SR_AUDIO_LAPSE_H
#define SR_AUDIO_LAPSE_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#define SR_LAPSES 64u

/// Samples lost in one place.
typedef struct {
  uint64_t place; ///< Samples delivered before it
  uint64_t lost;
} SrLapse;

/// Lapses from the callback to the reader, without a lock.
typedef struct {
  SrLapse lapses[SR_LAPSES];
  _Atomic uint32_t written;
  _Atomic uint32_t taken;
} SrLapseQueue;

/**
   How the device's count of frames runs against its clock.

   Its clock is the same for all devices of a computer. A callback may come late, never early: so
   the least distance of clock and count in the last seconds is what the device's own pace makes it,
   and a distance beyond it tells what is missing.
*/
typedef struct {
  double rate_hz;
  double least_s[2];  ///< In this stretch and in the one before
  uint64_t next_turn; ///< Frame at which the next stretch begins
  double usual_s;     ///< Distance that stretches usually come to; INFINITY while not known
  unsigned behind;    ///< Stretches in a row that came to much more
  double missing_s;   ///< Found missing, and not yet asked for
} SrPace;

// Real-time code: no lock, no allocation, no system call, bounded work.

/// Hand a lapse on; false if there is no room.
bool sr_lapse_write(SrLapseQueue* queue, SrLapse lapse);
/// Look at the next lapse without taking it; NULL if there is none.
const SrLapse* sr_lapse_peek(SrLapseQueue* queue);
/// Done with the lapse that sr_lapse_peek() gave.
void sr_lapse_take(SrLapseQueue* queue);

/// Start again, from any frame.
void sr_pace_begin(SrPace* pace, double rate_hz);
/// At `now_s` of the device's clock the frame before `frame` had been delivered.
void sr_pace_note(SrPace* pace, double now_s, uint64_t frame);
/**
   What the clock showed at frame 0 by the device's pace.

   @return INFINITY while nothing was noted; NAN while it does not run steadily, as at the start
   when buffers are filled, to within `most_s` from one stretch of half a second to the next.
*/
double sr_pace_zero_s(const SrPace* pace, double most_s);
/// Frames that are missing though the device said nothing: for over a second nothing came as early
/// as it should. 0 if none are; at most 5 seconds of them. Asked for once.
uint64_t sr_pace_missing(SrPace* pace);
/// The device says that frames were lost before these: how many; at least 1, at most 5 seconds
/// of them, 1 if the clock does not tell.
uint64_t sr_pace_lost(SrPace* pace, double now_s, uint64_t frame);

#endif // SR_AUDIO_LAPSE_H
