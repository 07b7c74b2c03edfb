// SPDX-License-Identifier: GPL-3.0-or-later

#include "capture.h"

#include <poll.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

/// Most frames read at once.
#define MOST_FRAMES 4096u
/// How long it sleeps when there are none.
#define NAP_NS 5000000L
/// A device that delivered, and then nothing for this many naps (0.5 s), is started again: after an
/// overrun PortAudio only prepares some.
#define RESTART_NAPS 100u

/// Read what is there; false if the device failed. An overflow stays in `flags` until something
/// came.
static bool
read_on(SrCapture* const capture, PaStreamCallbackFlags* const flags, bool* const any)
{
  *any = false;
  const signed long available = Pa_GetStreamReadAvailable(capture->stream);
  if (available == paInputOverflowed) {
    *flags = paInputOverflow;
    return true;
  }
  if (available <= 0) {
    return available == 0;
  }
  const unsigned long frames =
      (unsigned long)available < MOST_FRAMES ? (unsigned long)available : MOST_FRAMES;
  const PaError outcome = Pa_ReadStream(capture->stream, capture->samples, frames);
  if (outcome == paInputOverflowed) {
    *flags = paInputOverflow;
  } else if (outcome != paNoError) {
    return false;
  }
  const PaStreamCallbackTimeInfo time = {.currentTime = Pa_GetStreamTime(capture->stream)};
  sr_callback_hear(capture->samples, NULL, frames, &time, *flags, capture->callback);
  eventfd_write(capture->came, 1);
  *flags = 0;
  *any = true;
  return true;
}

static void*
run(void* const context)
{
  SrCapture* const capture = (SrCapture*)context;
  PaStreamCallbackFlags flags = 0;
  bool good = true;
  bool ever = false;
  unsigned naps = 0;
  while (good && !atomic_load(&capture->ending)) {
    bool any;
    good = read_on(capture, &flags, &any);
    ever = ever || any;
    naps = any ? 0 : naps + 1;
    if (good && !any) {
      const struct timespec nap = {0, NAP_NS};
      nanosleep(&nap, NULL);
    }
    if (good && ever && naps >= RESTART_NAPS) {
      naps = 0;
      flags = paInputOverflow;
      Pa_AbortStream(capture->stream);
      good = Pa_StartStream(capture->stream) == paNoError;
    }
  }
  atomic_store(&capture->stopped, !good);
  eventfd_write(capture->came, 1);
  return NULL;
}

static void
let_go(SrCapture* const capture)
{
  if (capture->came >= 0) {
    close(capture->came);
  }
  free(capture->samples);
  capture->samples = NULL;
  capture->running = false;
}

bool
sr_capture_begin(SrCapture* const capture, PaStream* const stream, SrCallback* const callback)
{
  capture->stream = stream;
  capture->callback = callback;
  atomic_init(&capture->ending, false);
  atomic_init(&capture->stopped, false);
  capture->came = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
  capture->samples = (float*)malloc(sizeof(float) * MOST_FRAMES * callback->inputs);
  capture->running = capture->came >= 0 && capture->samples &&
                     pthread_create(&capture->thread, NULL, run, capture) == 0;
  if (!capture->running) {
    let_go(capture);
  }
  return capture->running;
}

void
sr_capture_ask_to_end(SrCapture* const capture)
{
  atomic_store(&capture->ending, true);
}

void
sr_capture_end(SrCapture* const capture)
{
  if (capture->running) {
    sr_capture_ask_to_end(capture);
    pthread_join(capture->thread, NULL);
    let_go(capture);
  }
}

void
sr_capture_wait(SrCapture* const capture, const int most_ms)
{
  struct pollfd came = {.fd = capture->came, .events = POLLIN};
  eventfd_t ignored;
  if (poll(&came, 1, most_ms) > 0) {
    eventfd_read(capture->came, &ignored);
  }
}

bool
sr_capture_goes_on(const SrCapture* const capture)
{
  return capture->running && !atomic_load(&capture->stopped);
}
