// SPDX-License-Identifier: GPL-3.0-or-later

// The click: one thread schedules it, another plays it to the sample.

#ifndef SR_AUDIO_CLICKER_H
#define SR_AUDIO_CLICKER_H

#include <steadyreed/stream.h>

#include <stdatomic.h>

/// Most plans at a time: the running one, and stopped ones whose last clicks still sound.
#define SR_CLICK_SLOTS 8u

/// Which thread owns a slot. Each transition is made by one thread only.
typedef enum {
  SR_CLICK_FREE,     ///< Owner's; to be filled
  SR_CLICK_PLAYING,  ///< Callback's; the owner may stop it
  SR_CLICK_STOPPING, ///< Callback's, until the last click has sounded
  SR_CLICK_DONE,     ///< Owner's again; to be freed
} SrClickState;

/// A sounding click.
typedef struct {
  const float* next;
  size_t left;
  size_t wait; ///< Frames before it in the current buffer
  float volume;
} SrClickVoice;

typedef struct {
  _Atomic int state;
  _Atomic uint64_t began; ///< Frame of the first click plus 1; 0 before it

  // Filled by the owner while free, then the callback's
  SrClickPlan plan; ///< Its sounds are the next two
  float* plain;
  float* accent;
  SrClickVoice* voices;
  size_t voice_room;
  size_t voice_count;
  uint64_t first; ///< Frame of the first click
  uint64_t next;  ///< Number of the next click
} SrClickSlot;

typedef struct {
  SrClickSlot slots[SR_CLICK_SLOTS];
  SrClickSlot* latest; ///< Owner only: the slot sr_clicker_start() filled last
  _Atomic float volume;
} SrClicker;

/// See sr_stream_click().
SrStatus sr_clicker_start(SrClicker* clicker, const SrClickPlan* plan, double rate_hz,
                          SrError* error);
/// See sr_stream_click_stop().
void sr_clicker_stop(SrClicker* clicker);
/// See sr_stream_click_began().
bool sr_clicker_began(const SrClicker* clicker, uint64_t* frame);
/// Change the volume, 0 to 1, from the next click on.
void sr_clicker_volume(SrClicker* clicker, float volume);
/// Free everything. Only once the callback has ended.
void sr_clicker_end(SrClicker* clicker);

/**
   Add clicks to a buffer. Real-time code: no lock, no allocation, no system call, bounded work.

   @param mix      Has `frames` samples.
   @param position Frame of the first of them on the capture clock. Buffers are contiguous on it
                   except for an occasional step.
   @param grace    A click due up to this many frames before the buffer is played at its start;
                   older ones are dropped.
*/
void sr_clicker_mix(SrClicker* clicker, float* mix, size_t frames, uint64_t position,
                    uint64_t grace);

#endif // SR_AUDIO_CLICKER_H
