// SPDX-License-Identifier: GPL-3.0-or-later

// What PortAudio's threads do, and the other end of it. Knows no device.
//
// Input and output are two streams with a callback each. One duplex stream would be simpler, but
// PortAudio on ALSA then drops input without a word whenever the output is not ready in time; and
// told not to (paNeverDropInput), it runs into an assertion of its own, seen with 19.6.0 on
// PulseAudio. Frames of the output are told on the clock of the input by what the computer's clock
// showed with each.

#ifndef SR_AUDIO_CALLBACK_H
#define SR_AUDIO_CALLBACK_H

#include "clicker.h"
#include "lapse.h"
#include "ring.h"

#include <portaudio.h>

typedef struct {
  // Fixed from the start.
  double rate_hz;
  unsigned inputs;  ///< Channels that come, at least 1
  unsigned outputs; ///< Channels that go, 0 for none
  unsigned channel; ///< To listen to, from 1; 0 for the mean of the first two

  // In.
  SrRing heard;
  SrLapseQueue lapses;
  _Atomic uint64_t overruns;
  _Atomic uint64_t lost;
  _Atomic uint64_t underruns;

  // Out.
  SrClicker clicker;
  SrRing given;
  _Atomic uint64_t hushed; ///< What was given before this count is not to be played
  /// Where what was given began to play: the count of its first sample and its frame. Odd while
  /// they are written.
  _Atomic uint32_t play_turn;
  _Atomic uint64_t play_first;
  _Atomic uint64_t play_frame;

  // From one callback to the other.
  _Atomic double heard_zero_s;   ///< Computer's clock at frame 0 of the input; NAN if unknown
  _Atomic uint64_t heard_frames; ///< Frames of the input so far

  // The input callback's own.
  uint64_t position; ///< Frame of the next sample that comes
  uint64_t held;     ///< Lost just before it, and not yet handed on
  SrPace pace;

  // The output callback's own.
  uint64_t put; ///< Frames so far
  SrPace put_pace;
  bool linked;
  uint64_t linked_at;  ///< Frame at which the clocks were last linked
  uint64_t doubted;    ///< Frame since which they have been too far apart to be believed
  double drift[2];     ///< How far apart they have been since then, frames: on the average of
                       ///< long, and recently
  uint64_t drifted_at; ///< Frame up to which that is
  int64_t shift;       ///< From a frame put out to one heard at the same time
  bool playing;
  bool anew; ///< The output had an underrun since the clocks were compared

  // The owner's own.
  uint64_t handed;     ///< Samples of the ring that were read
  uint64_t part;       ///< Of the lapse at hand, what was handed on as no number
  uint64_t play_count; ///< Count of the first sample given after a silence
  bool play_asked;
} SrCallback;

/**
   Get all memory.

   @param heard_s Room for what came in and was not yet read, seconds.
   @param given_s Room for what was given to be played, seconds.
   @return false if there is not enough.
*/
bool sr_callback_begin(SrCallback* callback, double rate_hz, unsigned inputs, unsigned outputs,
                       unsigned channel, double heard_s, double given_s);
/// Free all. Only once the device no longer calls.
void sr_callback_end(SrCallback* callback);

// Two PaStreamCallback; `context` is an SrCallback. Floats, interleaved. Real-time code: no lock,
// no allocation, no system call, bounded work. Made for paFramesPerBufferUnspecified, where
// paInputOverflow is about what lies before the buffer.

/// The microphone's.
int sr_callback_hear(const void* input, void* output, unsigned long frames,
                     const PaStreamCallbackTimeInfo* time, PaStreamCallbackFlags flags,
                     void* context);
/// The loudspeaker's. It is silent until both clocks are known, about a second from when both run
/// steadily.
int sr_callback_sound(const void* input, void* output, unsigned long frames,
                      const PaStreamCallbackTimeInfo* time, PaStreamCallbackFlags flags,
                      void* context);

// The owner's end; see the functions of these names in stream.h.

size_t sr_callback_read(SrCallback* callback, float* samples, size_t room);
/// Whether sr_callback_read() would give something.
bool sr_callback_is_ready(SrCallback* callback);
SrStreamTrouble sr_callback_trouble(const SrCallback* callback);
size_t sr_callback_play(SrCallback* callback, const float* samples, size_t count);
size_t sr_callback_unplayed(const SrCallback* callback);
void sr_callback_hush(SrCallback* callback);
bool sr_callback_play_began(const SrCallback* callback, uint64_t* frame);

#endif // SR_AUDIO_CALLBACK_H
