// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file stream.h
   The microphone, live, and the click: device streams whose callbacks only copy to a
   lock-free ring and play what was scheduled, to the sample.

   There is one clock: the count of captured frames. What the microphone did not deliver is
   handed on as samples that are no number (NaN), as many as were lost, so that the clock
   goes on and the listening engine knows that nobody is to blame. Where the device does not tell
   how many, that is estimated from the computer's clock.

   Input and output are two streams, so that no trouble of the output costs input. What is put out
   is told on the clock of the capture by way of the computer's clock: to within some milliseconds,
   the same for a whole run. Only if the two move apart by more than 3 ms and stay so (an underrun;
   two cards whose clocks drift) does the click make a step, back to its place on the clock of the
   capture.
*/

#ifndef STEADYREED_STREAM_H
#define STEADYREED_STREAM_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Latency that is asked of the output, s: a round trip holds for what was measured with the same.
#define SR_OUTPUT_LATENCY_S 0.1

/// One device of this computer.
typedef struct {
  double rate_hz;   ///< Its own rate
  int number;       ///< As shown in a list, from 0
  int inputs;       ///< Most channels in, 0 if it has none
  int outputs;      ///< Most channels out
  char name[128];   ///< UTF-8
  char system[64];  ///< Sound system it belongs to, such as "ALSA"
  bool usual_input; ///< What is taken if nothing is chosen
  bool usual_output;
} SrDevice;

/**
   List the devices.

   @param devices Receives an array; free() it. NULL on error or if there are none.
   @param count   Receives how many.
   @return SR_OK (also with none), SR_DEVICE_TROUBLE (no sound system) or SR_NO_MEMORY.
*/
SrStatus sr_devices_list(SrDevice** devices, size_t* count, SrError* error);

/// Which devices, and how; all zero is the usual microphone, all its channels, no output.
typedef struct {
  const char* input;  ///< Number, name or part of a name (no matter the case of A to Z); NULL or ""
                      ///< for the usual. A whole name goes before a part of another.
  const char* output; ///< The same
  bool with_output;   ///< Open an output too, for the click and for sr_stream_play()
  int channel; ///< Channel to listen to, from 1; 0 for the mean of the first two (or the one)
} SrStreamSettings;

/// A stream. One thread owns it; only the callbacks run elsewhere.
typedef struct SrStreamImpl SrStream;

/**
   Open the devices at the input device's own rate.

   @param settings NULL for all zero.
   @param stream   Receives it; NULL on error.
   @return SR_OK; SR_NOT_FOUND (no device of that name, or the name fits several, which the
   sentence lists; or no such channel), SR_DEVICE_TROUBLE (no device at all, it is held by another
   program, or may not be used) or SR_NO_MEMORY.
*/
SrStatus sr_stream_new(const SrStreamSettings* settings, SrStream** stream, SrError* error);
/**
   Stop and free; NULL does nothing. A device that does not let go within a second, as when its
   sound server hangs, is left behind with all its memory until the program ends. Do not open
   another stream in the same program after that has happened: PortAudio keeps the old one.
*/
void sr_stream_del(SrStream* stream);
/// Samples a second, in and out.
double sr_stream_rate_hz(const SrStream* stream);
/// Name of the input device, or of the output device ("" without one).
const char* sr_stream_input_name(const SrStream* stream);
const char* sr_stream_output_name(const SrStream* stream);
/// Start. SR_OK or SR_DEVICE_TROUBLE.
SrStatus sr_stream_start(SrStream* stream, SrError* error);

/**
   Take what has come in, without waiting.

   @param samples Receives up to `room` samples; those lost are NaN.
   @return How many; 0 if there are none yet.
*/
size_t sr_stream_read(SrStream* stream, float* samples, size_t room);

/**
   Wait until there is something to read, at most `most_s` seconds.

   @return SR_OK (also if nothing came), or SR_DEVICE_TROUBLE once the device or the sound
   server is gone: its stream has ended, or nothing has come for two seconds (five at the start).
   What came before is given first.
*/
SrStatus sr_stream_wait(SrStream* stream, double most_s, SrError* error);

/// What went wrong so far.
typedef struct {
  uint64_t overruns;  ///< Times that samples were lost, by the device or for want of room
  uint64_t lost;      ///< Samples lost, as far as known
  uint64_t underruns; ///< Times that the output had nothing to play in time
} SrStreamTrouble;
SrStreamTrouble sr_stream_trouble(const SrStream* stream);

/// A click: two sounds and when they come. All arrays are copied.
typedef struct {
  const float* plain;  ///< Sound of a pulse, full scale 1
  size_t plain_count;  ///< At most one second
  const float* accent; ///< Sound of the first pulse of a bar
  size_t accent_count;
  double period;       ///< Frames from click to click, at least 1000; need not be whole
  unsigned bar_clicks; ///< Every so many clicks one is accented, counted from the first behind the
                       ///< count-in and back into it; 0 for none
  unsigned on_bars;    ///< So many bars sound, from the first behind the count-in,
  unsigned off_bars;   ///< then so many are silent, and so on; 0 in either for never silent
  unsigned count_in;   ///< Clicks at the start that always sound and do not count as bars
  float volume;        ///< 0 to 1
} SrClickPlan;

/**
   Start clicking. Only on a stream with output, and not while another click runs; one that was
   stopped may still sound. The first click comes once both devices run steadily, which takes about
   a second from sr_stream_start().

   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_stream_click(SrStream* stream, const SrClickPlan* plan, SrError* error);
/// Stop clicking; a click that has begun sounds to its end. Does nothing if there is none.
void sr_stream_click_stop(SrStream* stream);
/**
   Frame, on the clock of the capture, at which the first click was handed to the device; it is
   heard the round trip later. Click n follows n periods later, rounded to the frame. Goes on to
   be told when the click was stopped, until another is started.

   @return Whether it has been; else `frame` is unchanged.
*/
bool sr_stream_click_began(const SrStream* stream, uint64_t* frame);

/**
   Have samples played, as soon as what was given before is out. There is room for two
   seconds. The first comes when a click could, see sr_stream_click().

   @return How many were taken; fewer than `count` if there is no room now.
*/
size_t sr_stream_play(SrStream* stream, const float* samples, size_t count);
/// Samples given to sr_stream_play() that are not yet out.
size_t sr_stream_unplayed(const SrStream* stream);
/// Frame, on the clock of the capture, at which the last sr_stream_play() that found nothing
/// unplayed began to be handed to the device; whether it has.
bool sr_stream_play_began(const SrStream* stream, uint64_t* frame);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_STREAM_H
