// SPDX-License-Identifier: GPL-3.0-or-later

// The click: one thread says what is to be clicked, another plays it to the sample.

#ifndef SR_AUDIO_CLICKER_H
#define SR_AUDIO_CLICKER_H

#include <steadyreed/stream.h>

#include <stdatomic.h>

/// Plans at a time: the one that runs, and stopped ones whose last clicks still sound.
#define SR_CLICK_SLOTS 8u

/// Whose turn it is with a slot. Each step has one thread that may take it.
typedef enum {
  SR_CLICK_FREE,     ///< The owner's; to be filled
  SR_CLICK_PLAYING,  ///< The callback's; the owner may stop it
  SR_CLICK_STOPPING, ///< The callback's, until the last click is out
  SR_CLICK_DONE,     ///< The owner's again; to be freed
} SrClickState;

/// A click that sounds.
typedef struct {
  const float* next;
  size_t left;
  size_t wait; ///< Frames of the buffer at hand before it
  float volume;
} SrClickVoice;

typedef struct {
  _Atomic int state;
  _Atomic uint64_t began; ///< One more than the frame of the first click; 0 before it

  // Filled by the owner while free, the callback's from then on.
  SrClickPlan plan; ///< Its sounds are these two:
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
  SrClickSlot* latest; ///< The owner's: what sr_clicker_start() filled last
  _Atomic float volume;
} SrClicker;

/// See sr_stream_click().
SrStatus sr_clicker_start(SrClicker* clicker, const SrClickPlan* plan, double rate_hz,
                          SrError* error);
/// See sr_stream_click_stop().
void sr_clicker_stop(SrClicker* clicker);
/// See sr_stream_click_began().
bool sr_clicker_began(const SrClicker* clicker, uint64_t* frame);
/// Change how loud the click is, 0 to 1, from its next one on.
void sr_clicker_volume(SrClicker* clicker, float volume);
/// Free all. Only once the callback is no more.
void sr_clicker_end(SrClicker* clicker);

/**
   Add what clicks to a buffer. Real-time code: no lock, no allocation, no system call, bounded
   work.

   @param mix      Has `frames` samples.
   @param position Frame of the first of them, on the clock of the capture. Buffers follow each
                   other on it but for a step now and then.
   @param grace    A click that was due so many frames before the buffer, or fewer, is played at
                   its start; older ones are left out.
*/
void sr_clicker_mix(SrClicker* clicker, float* mix, size_t frames, uint64_t position,
                    uint64_t grace);

#endif // SR_AUDIO_CLICKER_H
