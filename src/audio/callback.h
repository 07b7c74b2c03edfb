// SPDX-License-Identifier: GPL-3.0-or-later

// The PortAudio callbacks and the owner's side of their data. Knows no device.
//
// Input and output are two streams with a callback each. One duplex stream would be simpler, but
// PortAudio on ALSA then silently drops input whenever the output is not ready in time; with
// paNeverDropInput it runs into an assertion of its own, seen with 19.6.0 on PulseAudio. Output
// frames are mapped to the input's clock through the computer's clock as read in each callback
// (clock_link.h).

#ifndef SR_AUDIO_CALLBACK_H
#define SR_AUDIO_CALLBACK_H

#include "clicker.h"
#include "clock_link.h"
#include "loss_queue.h"
#include "ring.h"

#include <portaudio.h>

typedef struct {
  // Fixed from the start
  double rate_hz;
  unsigned inputs;  ///< Input channels, at least 1
  unsigned outputs; ///< Output channels, 0 for none
  unsigned channel; ///< Channel to listen to, from 1; 0 for the mean of the first two

  // Input
  SrRing heard;
  SrLossQueue losses;
  _Atomic uint64_t overruns;
  _Atomic uint64_t lost;
  _Atomic uint64_t underruns;

  // Output
  SrClicker clicker;
  SrRing given;
  _Atomic uint64_t hushed; ///< Samples given before this count are not to be played
  /// Where the given samples began to play: count and frame of the first. `play_turn` is odd while
  /// they are being written.
  _Atomic uint32_t play_turn;
  _Atomic uint64_t play_first;
  _Atomic uint64_t play_frame;

  // From the input callback to the output callback
  _Atomic double heard_zero_s;   ///< Computer's clock at frame 0 of the input; NAN if unknown
  _Atomic uint64_t heard_frames; ///< Frames of the input so far

  // Input callback only
  uint64_t position; ///< Frame of the next input sample
  uint64_t held;     ///< Frames lost just before it and not yet queued
  SrClockDrift pace;

  // Output callback only
  uint64_t put; ///< Output frames so far
  SrClockDrift put_pace;
  SrClockLink link;
  bool playing;
  bool restarted; ///< The output had an underrun since the last clock comparison

  // Owner only
  uint64_t handed;     ///< Samples read from the ring
  uint64_t part;       ///< Frames of the current loss already delivered as NaN
  uint64_t play_count; ///< Count of the first sample given after a silence
  bool play_asked;
} SrCallback;

/**
   Allocate all memory.

   @param heard_s Capacity for unread input, seconds.
   @param given_s Capacity for samples to play, seconds.
   @return false without memory.
*/
bool sr_callback_begin(SrCallback* callback, double rate_hz, unsigned inputs, unsigned outputs,
                       unsigned channel, double heard_s, double given_s);
/// Free everything. Only once the device makes no more calls.
void sr_callback_end(SrCallback* callback);

// Two PaStreamCallback; `context` is an SrCallback. Interleaved floats. Real-time code: no lock, no
// allocation, no system call, bounded work. Made for paFramesPerBufferUnspecified, where
// paInputOverflow refers to the time before the buffer.

int sr_callback_hear(const void* input, void* output, unsigned long frames,
                     const PaStreamCallbackTimeInfo* time, PaStreamCallbackFlags flags,
                     void* context);
/// Output callback. Silent until both clocks are known, about a second after both run steadily.
int sr_callback_sound(const void* input, void* output, unsigned long frames,
                      const PaStreamCallbackTimeInfo* time, PaStreamCallbackFlags flags,
                      void* context);

// The owner's side; see the functions of these names in stream.h.

size_t sr_callback_read(SrCallback* callback, float* samples, size_t room);
/// Whether sr_callback_read() would return anything.
bool sr_callback_is_ready(SrCallback* callback);
SrStreamTrouble sr_callback_trouble(const SrCallback* callback);
size_t sr_callback_play(SrCallback* callback, const float* samples, size_t count);
size_t sr_callback_unplayed(const SrCallback* callback);
void sr_callback_hush(SrCallback* callback);
bool sr_callback_play_began(const SrCallback* callback, uint64_t* frame);

#endif // SR_AUDIO_CALLBACK_H
