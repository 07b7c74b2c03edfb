// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file stream.h
   Live microphone input and the click: device streams whose callbacks only copy to a lock-free ring
   and play what was scheduled, to the sample.

   There is one clock: the count of captured frames. Lost input is delivered as the same number of
   NaN samples, so that the clock stays right and the listening engine knows the player is not to
   blame. If the device does not report the number, it is estimated from the computer's clock.

   Input and output are two streams, so that trouble with the output costs no input. Output times
   are converted to the capture clock through the computer's clock, with a constant error of some
   milliseconds in any one run. Only if the two drift apart by more than 3 ms and stay there (an
   underrun; two cards whose clocks drift) does the click step back to its place on the capture
   clock; a drift is followed half a minute late.
*/

#ifndef STEADYREED_STREAM_H
#define STEADYREED_STREAM_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Output latency to request, s: a measured round trip is only valid at the same latency.
#define SR_OUTPUT_LATENCY_S 0.1

/// One device of this computer.
typedef struct {
  double rate_hz;   ///< Its own rate
  int number;       ///< As shown in a list, from 0
  int inputs;       ///< Input channels, 0 if there are none
  int outputs;      ///< Output channels
  char name[128];   ///< UTF-8
  char system[64];  ///< Its sound system, such as "ALSA"
  bool usual_input; ///< Used by default
  bool usual_output;
} SrDevice;

/**
   List the devices.

   @param devices Receives an array; free() it. NULL on error or if there are none.
   @param count   Receives how many.
   @return SR_OK (also with none), SR_DEVICE_TROUBLE (no sound system) or SR_NO_MEMORY.
*/
SrStatus sr_devices_list(SrDevice** devices, size_t* count, SrError* error);

/**
   Which devices to use; all zero is the default microphone, the mean of its first two channels, and
   no output.
*/
typedef struct {
  const char* input;  ///< Number, name or part of a name (A to Z in any case); NULL or "" for the
                      ///< default. A whole name is preferred to a part of another
  const char* output; ///< The same
  bool with_output;   ///< Open an output too, for the click and for sr_stream_play()
  int channel; ///< Channel to listen to, from 1; 0 for the mean of the first two (or the only one)
} SrStreamSettings;

/// A stream. One thread owns it; only the callbacks run elsewhere.
typedef struct SrStreamImpl SrStream;

/**
   Open the devices at the input device's own rate.

   @param settings NULL for all zero.
   @param stream   Receives it; NULL on error.
   @return SR_OK; SR_NOT_FOUND (no device of that name, or several, which the message lists; or no
           such channel), SR_DEVICE_TROUBLE (no device at all, or it is in use by another program or
           not permitted) or SR_NO_MEMORY.
*/
SrStatus sr_stream_new(const SrStreamSettings* settings, SrStream** stream, SrError* error);
/**
   Stop and free; NULL does nothing. A device that does not close within a second, as when its sound
   server hangs, is abandoned with all its memory until the program ends. After that, do not open
   another stream in the same program: PortAudio keeps the old one.
*/
void sr_stream_del(SrStream* stream);
/// Sample rate, in and out.
double sr_stream_rate_hz(const SrStream* stream);
/// Name of the input or output device ("" without one).
const char* sr_stream_input_name(const SrStream* stream);
const char* sr_stream_output_name(const SrStream* stream);
/// Start. SR_OK or SR_DEVICE_TROUBLE.
SrStatus sr_stream_start(SrStream* stream, SrError* error);

/**
   Take the available input without waiting.

   @param samples Receives up to `room` samples; lost ones are NaN.
   @return Number of samples; 0 if there are none yet.
*/
size_t sr_stream_read(SrStream* stream, float* samples, size_t room);

/**
   Wait for input, at most `most_s` seconds.

   @return SR_OK (also if none came), or SR_DEVICE_TROUBLE once the device or the sound server is
           gone: its stream has ended, or nothing has come for two seconds (five at the start).
           Earlier input is delivered first.
*/
SrStatus sr_stream_wait(SrStream* stream, double most_s, SrError* error);

/// What went wrong so far.
typedef struct {
  uint64_t overruns;  ///< Times samples were lost, by the device or for lack of room
  uint64_t lost;      ///< Samples lost, as far as known
  uint64_t underruns; ///< Times the output had nothing to play
} SrStreamTrouble;
SrStreamTrouble sr_stream_trouble(const SrStream* stream);

/// A click: two sounds and their schedule. All arrays are copied.
typedef struct {
  const float* plain;  ///< Sound of a pulse, full scale 1
  size_t plain_count;  ///< At most one second
  const float* accent; ///< Sound of the first pulse of a bar
  size_t accent_count;
  double period;       ///< Frames from click to click, at least 1000; need not be whole
  unsigned bar_clicks; ///< One click in this many is accented, counted from the end of the count-in
                       ///< in both directions; 0 for none
  unsigned on_bars;    ///< Bars that sound, starting after the count-in,
  unsigned off_bars;   ///< then bars that are silent, and so on; 0 in either for never silent
  unsigned count_in;   ///< Clicks at the start that always sound and are not counted as bars
  float volume;        ///< 0 to 1
} SrClickPlan;

/**
   Start clicking. Requires output, and no other running click; a stopped one may still be sounding.
   The first click comes once both devices run steadily, about a second after sr_stream_start().

   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_stream_click(SrStream* stream, const SrClickPlan* plan, SrError* error);
/// Stop clicking; a click in progress sounds to its end. Does nothing without a click.
void sr_stream_click_stop(SrStream* stream);
/// Change the volume of the click, 0 to 1, from the next one on; NAN is 0. Each new click has its
/// own.
void sr_stream_click_volume(SrStream* stream, double volume);
/**
   Frame on the capture clock at which the first click was handed to the device; it is heard one
   round trip later. Click n follows n periods later, rounded to the frame. Still available after
   the click is stopped, until another is started.

   @return Whether the first click has been played; if not, `frame` is unchanged.
*/
bool sr_stream_click_began(const SrStream* stream, uint64_t* frame);

/**
   Queue samples for playing after those given before. There is room for two seconds. Playing begins
   when a click could, see sr_stream_click().

   @return Number of samples taken; fewer than `count` if the queue is full.
*/
size_t sr_stream_play(SrStream* stream, const float* samples, size_t count);
/// Discard the samples given to sr_stream_play() that are not yet played.
void sr_stream_play_stop(SrStream* stream);
/// Samples given to sr_stream_play() that are not yet played.
size_t sr_stream_unplayed(const SrStream* stream);
/// Frame on the capture clock at which the samples of the last sr_stream_play() into an empty queue
/// began to be handed to the device; whether they have.
bool sr_stream_play_began(const SrStream* stream, uint64_t* frame);

SR_END_DECLARATIONS

#endif // STEADYREED_STREAM_H
