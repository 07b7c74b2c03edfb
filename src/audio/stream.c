// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file stream.c
   An output buffer of 30 ms let a busy computer cut a click every few seconds; 0.1 s costs nothing,
   since the click's path is measured.
*/

#include <steadyreed/stream.h>

#include "callback.h"
#include "capture.h"
#include "device.h"
#include "quiet_libraries.h"

#if SR_HAS_ALSA
#include <pa_linux_alsa.h>
#endif
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

// Judging a whole round takes the owner much less than this
#define HEARD_S 10.0
#define GIVEN_S 2.0
#define INPUT_LATENCY_S 0.03
// The round trip is measured, so latency may be long; underruns must be avoided. ALSA hands over a
// period at a time: many short periods in a long buffer are as quick as few in a short one, and a
// busy computer that is late to fetch them loses nothing
#define LONG_LATENCY_S SR_OUTPUT_LATENCY_S
#define INPUT_PERIODS 8
#define OUTPUT_PERIODS 4
#define SILENCE_S 2.0
// PulseAudio's monitor of a null sink takes nearly two seconds to start
#define FIRST_SILENCE_S 5.0
// The longest single wait, s, and the pause between looks where PortAudio calls
#define WAIT_S 0.1
#define NAP_NS 3000000L
// A longer pause between looks, s, means the program or the computer was stopped
#define AWAY_S 0.5
// A working sound server closes a stream in much less than this
#define CLOSE_S 1

struct SrStreamImpl {
  struct SrStreamImpl* left_behind; ///< Next in the list of streams that did not close
  SrCallback callback;
  SrCapture capture;
  PaStream* input;
  PaStream* output; ///< NULL without an output
  bool calls;       ///< PortAudio calls for the input; otherwise `capture` reads it
  double rate_hz;
  double came_s;   ///< Time of the last input, or of the start
  double looked_s; ///< Time of the last look for input
  bool started;
  bool came; ///< Whether there ever was any input
  char input_name[128];
  char output_name[128];
};

static double
now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/// A rate the listening engine accepts.
static double
choose_rate(const SrDevice* const device)
{
  return device->rate_hz >= 16000.0 && device->rate_hz <= 192000.0 ? device->rate_hz : 48000.0;
}

/// Whether a device is ALSA's.
static bool
is_alsa(const SrDevice* const device)
{
  const PaDeviceInfo* const info = Pa_GetDeviceInfo(device->number);
  const PaHostApiInfo* const host = info ? Pa_GetHostApiInfo(info->hostApi) : NULL;
  return host && host->type == paALSA;
}

/// The latency to request; on ALSA also sets the number of periods.
static double
choose_latency_s(const SrDevice* const device, const bool output)
{
#if SR_HAS_ALSA
  if (is_alsa(device)) {
    PaAlsa_SetNumPeriods(output ? OUTPUT_PERIODS : INPUT_PERIODS);
    return LONG_LATENCY_S;
  }
#else
  (void)device;
#endif
  return output ? LONG_LATENCY_S : INPUT_LATENCY_S;
}

/// Open a stream that calls, or is read if `call` is NULL.
static SrStatus
open_one(PaStream** const stream, const SrDevice* const device, const int channels,
         const bool output, PaStreamCallback* const call, SrCallback* const callback,
         SrError* const error)
{
  PaStreamParameters parameters = {0};
  parameters.device = device->number;
  parameters.channelCount = channels;
  parameters.sampleFormat = paFloat32;
  parameters.suggestedLatency = choose_latency_s(device, output);
  // Buffers as they come, so that none is held back to be filled up
  const PaError opened = Pa_OpenStream(
      stream, output ? NULL : &parameters, output ? &parameters : NULL, callback->rate_hz,
      paFramesPerBufferUnspecified, paClipOff | paDitherOff, call, call ? callback : NULL);
#if SR_HAS_ALSA
  // Applies to everything opened from now on
  PaAlsa_SetNumPeriods(OUTPUT_PERIODS);
#endif
  if (opened != paNoError) {
    *stream = NULL;
    return sr_device_refuse(opened, device->name, error);
  }
  return SR_OK;
}

static SrStatus
open_devices(SrStream* const stream, const SrStreamSettings* const settings,
             const SrDevice* const input, const SrDevice* const output, SrError* const error)
{
  const int inputs = settings->channel ? settings->channel : input->inputs < 2 ? 1 : 2;
  const int outputs = output ? (output->outputs < 2 ? 1 : 2) : 0;
  stream->rate_hz = choose_rate(input);
  memcpy(stream->input_name, input->name, sizeof(stream->input_name));
  if (output) {
    memcpy(stream->output_name, output->name, sizeof(stream->output_name));
  }
  if (!sr_callback_begin(&stream->callback, stream->rate_hz, (unsigned)inputs, (unsigned)outputs,
                         (unsigned)settings->channel, HEARD_S, GIVEN_S)) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  stream->calls = !is_alsa(input);
  SrStatus outcome = open_one(&stream->input, input, inputs, false,
                              stream->calls ? sr_callback_hear : NULL, &stream->callback, error);
  if (outcome == SR_OK && output) {
    outcome = open_one(&stream->output, output, outputs, true, sr_callback_sound, &stream->callback,
                       error);
  }
  if (outcome != SR_OK) {
    if (stream->input) {
      Pa_CloseStream(stream->input);
    }
    sr_callback_end(&stream->callback);
  }
  return outcome;
}

static SrStatus
choose_and_open(SrStream* const stream, const SrStreamSettings* const settings,
                SrError* const error)
{
  SrDevice* devices = NULL;
  size_t count = 0;
  const SrDevice* input = NULL;
  const SrDevice* output = NULL;
  SrStatus outcome = sr_devices_gather(&devices, &count, error);
  if (outcome == SR_OK) {
    outcome = sr_device_choose(devices, count, settings->input, false, &input, error);
  }
  if (outcome == SR_OK && settings->with_output) {
    outcome = sr_device_choose(devices, count, settings->output, true, &output, error);
  }
  if (outcome == SR_OK && (settings->channel < 0 || settings->channel > input->inputs)) {
    outcome = sr_error_set(error, SR_NOT_FOUND, "The %.100s has no channel %d; it has %d.",
                           input->name, settings->channel, input->inputs);
  }
  if (outcome == SR_OK) {
    outcome = open_devices(stream, settings, input, output, error);
  }
  free(devices);
  return outcome;
}

SrStatus
sr_stream_new(const SrStreamSettings* const settings, SrStream** const stream, SrError* const error)
{
  static const SrStreamSettings usual = {0};
  *stream = NULL;
  SrStream* const made = (SrStream*)calloc(1, sizeof(SrStream));
  if (!made) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  const int kept = sr_hush_begin();
  const PaError begun = Pa_Initialize();
  const SrStatus outcome = begun == paNoError
                               ? choose_and_open(made, settings ? settings : &usual, error)
                               : sr_device_refuse(begun, NULL, error);
  if (outcome != SR_OK && begun == paNoError) {
    Pa_Terminate();
  }
  sr_hush_end(kept);
  if (outcome != SR_OK) {
    free(made);
    return outcome;
  }
  *stream = made;
  return SR_OK;
}

static void*
close_devices(void* const context)
{
  SrStream* const stream = (SrStream*)context;
  sr_capture_ask_to_end(&stream->capture);
  if (stream->output) {
    Pa_AbortStream(stream->output);
    Pa_CloseStream(stream->output);
  }
  sr_capture_end(&stream->capture);
  Pa_AbortStream(stream->input);
  Pa_CloseStream(stream->input);
  return NULL;
}

/// Close within CLOSE_S; false if it hangs, as a device may whose server is gone.
static bool
close_in_time(SrStream* const stream)
{
  pthread_t helper;
  if (pthread_create(&helper, NULL, close_devices, stream) != 0) {
    return false;
  }
  struct timespec limit;
  clock_gettime(CLOCK_REALTIME, &limit);
  limit.tv_sec += CLOSE_S;
  if (pthread_timedjoin_np(helper, NULL, &limit) != 0) {
    pthread_detach(helper);
    return false;
  }
  return true;
}

/// Streams whose device did not close, kept reachable until the program ends.
static SrStream* volatile left_behind;

void
sr_stream_del(SrStream* const stream)
{
  if (!stream) {
    return;
  }
  const int kept = sr_hush_begin();
  const bool closed = close_in_time(stream);
  if (closed) {
    Pa_Terminate();
  }
  sr_hush_end(kept);
  // A device that did not close may still make calls: everything it uses stays until the program
  // ends, and so does PortAudio, since Pa_Terminate() would hang too
  if (closed) {
    sr_callback_end(&stream->callback);
    free(stream);
  } else {
    stream->left_behind = left_behind;
    left_behind = stream;
  }
}

double
sr_stream_rate_hz(const SrStream* const stream)
{
  return stream->rate_hz;
}

const char*
sr_stream_input_name(const SrStream* const stream)
{
  return stream->input_name;
}

const char*
sr_stream_output_name(const SrStream* const stream)
{
  return stream->output_name;
}

SrStatus
sr_stream_start(SrStream* const stream, SrError* const error)
{
  if (stream->started) {
    return SR_OK;
  }
  const int kept = sr_hush_begin();
  const PaError begun = Pa_StartStream(stream->input);
  const PaError sounding =
      begun == paNoError && stream->output ? Pa_StartStream(stream->output) : paNoError;
  const bool reads =
      begun == paNoError && sounding == paNoError &&
      (stream->calls || sr_capture_begin(&stream->capture, stream->input, &stream->callback));
  if (begun == paNoError && !reads) {
    Pa_AbortStream(stream->input);
  }
  if (begun == paNoError && sounding == paNoError && !reads && stream->output) {
    Pa_AbortStream(stream->output);
  }
  sr_hush_end(kept);
  if (begun != paNoError || sounding != paNoError) {
    return begun != paNoError ? sr_device_refuse(begun, stream->input_name, error)
                              : sr_device_refuse(sounding, stream->output_name, error);
  }
  if (!reads) {
    return sr_error_set(error, SR_NO_MEMORY,
                        "There is not enough memory, or there are too many open files, to listen.");
  }
  stream->started = true;
  stream->came_s = now_s();
  stream->looked_s = stream->came_s;
  return SR_OK;
}

size_t
sr_stream_read(SrStream* const stream, float* const samples, const size_t room)
{
  const size_t count = sr_callback_read(&stream->callback, samples, room);
  if (count) {
    stream->came = true;
    stream->came_s = now_s();
  }
  return count;
}

/// Whether the input has not stopped.
static bool
goes_on(const SrStream* const stream)
{
  return stream->calls ? Pa_IsStreamActive(stream->input) == 1
                       : sr_capture_goes_on(&stream->capture);
}

/// Wait until something may have come. It may return for what was read already.
static void
wait_a_little(SrStream* const stream, const double most_s)
{
  if (stream->calls) {
    const struct timespec nap = {0, NAP_NS};
    nanosleep(&nap, NULL);
  } else {
    sr_capture_wait(&stream->capture, 1 + (int)(1e3 * fmin(WAIT_S, most_s)));
  }
}

SrStatus
sr_stream_wait(SrStream* const stream, const double most_s, SrError* const error)
{
  const double begun_s = now_s();
  for (;;) {
    const double here_s = now_s();
    // Count only silence that was observed, not time in which the program or the computer was
    // stopped
    if (here_s - stream->looked_s > AWAY_S) {
      stream->came_s += here_s - stream->looked_s;
    }
    stream->looked_s = here_s;
    if (sr_callback_is_ready(&stream->callback)) {
      stream->came = true;
      stream->came_s = here_s;
      return SR_OK;
    }
    const bool input_stopped = !stream->started || !goes_on(stream);
    if (input_stopped || (stream->output && Pa_IsStreamActive(stream->output) != 1)) {
      return sr_error_set(error, SR_DEVICE_TROUBLE,
                          "The %.100s has stopped. Was it unplugged, or did the sound server stop?",
                          input_stopped ? stream->input_name : stream->output_name);
    }
    if (here_s - stream->came_s > (stream->came ? SILENCE_S : FIRST_SILENCE_S)) {
      return sr_error_set(error, SR_DEVICE_TROUBLE,
                          "Nothing is coming from the %.100s any more. Was it unplugged, or did "
                          "the sound server stop?",
                          stream->input_name);
    }
    if (here_s - begun_s >= most_s) {
      return SR_OK;
    }
    wait_a_little(stream, most_s - (here_s - begun_s));
  }
}

SrStreamTrouble
sr_stream_trouble(const SrStream* const stream)
{
  return sr_callback_trouble(&stream->callback);
}

SrStatus
sr_stream_click(SrStream* const stream, const SrClickPlan* const plan, SrError* const error)
{
  if (!stream->callback.outputs) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "There is no loudspeaker open for the click.");
  }
  return sr_clicker_start(&stream->callback.clicker, plan, stream->rate_hz, error);
}

void
sr_stream_click_stop(SrStream* const stream)
{
  sr_clicker_stop(&stream->callback.clicker);
}

void
sr_stream_click_volume(SrStream* const stream, const double volume)
{
  sr_clicker_volume(&stream->callback.clicker, (float)volume);
}

bool
sr_stream_click_began(const SrStream* const stream, uint64_t* const frame)
{
  return sr_clicker_began(&stream->callback.clicker, frame);
}

size_t
sr_stream_play(SrStream* const stream, const float* const samples, const size_t count)
{
  return sr_callback_play(&stream->callback, samples, count);
}

void
sr_stream_play_stop(SrStream* const stream)
{
  sr_callback_hush(&stream->callback);
}

size_t
sr_stream_unplayed(const SrStream* const stream)
{
  return sr_callback_unplayed(&stream->callback);
}

bool
sr_stream_play_began(const SrStream* const stream, uint64_t* const frame)
{
  return sr_callback_play_began(&stream->callback, frame);
}
