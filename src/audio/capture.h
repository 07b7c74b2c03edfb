// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file capture.h
   The thread that reads an ALSA microphone and hands on what came, as a device's own callback
   would.

   PortAudio could call by itself, but where a sound server's source is idle and delivers nothing
   yet, the thread it calls from polls without a pause and takes a whole core. This one sleeps. Of
   JACK, PortAudio reads only two channels, so there it calls.
*/

#ifndef SR_AUDIO_CAPTURE_H
#define SR_AUDIO_CAPTURE_H

#include "callback.h"

#include <portaudio.h>
#include <pthread.h>

#include <stdatomic.h>
#include <stdbool.h>

/// One such thread; zeroed, it is not running.
typedef struct {
  PaStream* stream;
  SrCallback* callback;
  float* samples; ///< What is read at once, interleaved
  pthread_t thread;
  atomic_bool ending;  ///< Set by the owner
  atomic_bool stopped; ///< Set by the thread when the device failed
  int came;            ///< An eventfd: readable when something came that was not waited for yet
  bool running;
} SrCapture;

/**
   Begin to read.

   @param stream   Opened without a callback, and started.
   @param callback Receives all that comes, through sr_callback_hear().
   @return False without memory or a thread.
*/
bool sr_capture_begin(SrCapture* capture, PaStream* stream, SrCallback* callback);
/// Ask it to end, without waiting.
void sr_capture_ask_to_end(SrCapture* capture);
/// End it, and wait for that; a device that hangs may keep it waiting. Does nothing if not running.
void sr_capture_end(SrCapture* capture);
/// Wait until something came or the device failed, at most so long, ms.
void sr_capture_wait(SrCapture* capture, int most_ms);
/// Whether it reads, and the device has not failed.
bool sr_capture_goes_on(const SrCapture* capture);

#endif // SR_AUDIO_CAPTURE_H
