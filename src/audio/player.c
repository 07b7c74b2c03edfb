// SPDX-License-Identifier: GPL-3.0-or-later

// PortAudio's own thread does the real-time work, taking samples from a ring that Pa_WriteStream()
// fills. None of our code runs in that thread, so the source may allocate, lock and wait.

#include <steadyreed/audio.h>

#include "device.h"
#include "quiet_libraries.h"

#include <portaudio.h>

#include <stdlib.h>

#define CHUNK_SAMPLES 4096u

struct SrPlayerImpl {
  PaStream* stream;
  double rate_hz;
  float chunk[CHUNK_SAMPLES];
};

static SrStatus
refuse(const PaError reason, SrError* const error)
{
  if (reason == paUnanticipatedHostError) {
    const PaHostErrorInfo* const host = Pa_GetLastHostErrorInfo();
    if (host && host->errorText && host->errorText[0]) {
      return sr_error_set(error, SR_DEVICE_TROUBLE,
                          "The loudspeaker cannot be used (%s). Is another program using it?",
                          host->errorText);
    }
  }
  return sr_error_set(error, SR_DEVICE_TROUBLE,
                      "The loudspeaker cannot be used (%s). Is another program using it?",
                      Pa_GetErrorText(reason));
}

/// Find the device of a name; paNoDevice on error.
static SrStatus
find_device(const char* const output, PaDeviceIndex* const device, SrError* const error)
{
  SrDevice* devices = NULL;
  size_t count = 0;
  const SrDevice* chosen = NULL;
  *device = Pa_GetDefaultOutputDevice();
  if (!output || !output[0]) {
    return SR_OK;
  }
  SrStatus status = sr_devices_gather(&devices, &count, error);
  if (status == SR_OK) {
    status = sr_device_choose(devices, count, output, true, &chosen, error);
  }
  *device = chosen ? chosen->number : paNoDevice;
  free(devices);
  return status;
}

/// Open an output at its own rate.
static SrStatus
open_stream(SrPlayer* const player, const char* const output, SrError* const error)
{
  PaDeviceIndex device = paNoDevice;
  const SrStatus found = find_device(output, &device, error);
  if (found != SR_OK) {
    return found;
  }
  const PaDeviceInfo* const info = device == paNoDevice ? NULL : Pa_GetDeviceInfo(device);
  if (!info || info->maxOutputChannels < 1) {
    return sr_error_set(error, SR_DEVICE_TROUBLE,
                        "No loudspeaker or headphones were found. Plug them in, start the sound "
                        "server, or write the sound to a file.");
  }
  player->rate_hz = info->defaultSampleRate >= 8000.0 ? info->defaultSampleRate : 48000.0;
  PaStreamParameters parameters = {0};
  parameters.device = device;
  parameters.channelCount = 1;
  parameters.sampleFormat = paFloat32;
  // Latency does not matter here, so prefer steady playback
  parameters.suggestedLatency = info->defaultHighOutputLatency;
  const PaError outcome = Pa_OpenStream(&player->stream, NULL, &parameters, player->rate_hz,
                                        paFramesPerBufferUnspecified, paNoFlag, NULL, NULL);
  if (outcome != paNoError) {
    player->stream = NULL;
    return refuse(outcome, error);
  }
  return SR_OK;
}

SrStatus
sr_player_new(const char* const output, SrPlayer** const player, SrError* const error)
{
  *player = NULL;
  SrPlayer* const made = calloc(1, sizeof(SrPlayer));
  if (!made) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to play the sound.");
  }
  const int kept = sr_hush_begin();
  const PaError begun = Pa_Initialize();
  const SrStatus outcome =
      begun == paNoError ? open_stream(made, output, error) : refuse(begun, error);
  if (outcome != SR_OK && begun == paNoError) {
    Pa_Terminate();
  }
  sr_hush_end(kept);
  if (outcome != SR_OK) {
    free(made);
    return outcome;
  }
  *player = made;
  return SR_OK;
}

double
sr_player_rate_hz(const SrPlayer* const player)
{
  return player->rate_hz;
}

SrStatus
sr_player_play(SrPlayer* const player, const SrAudioSource source, void* const context,
               SrError* const error)
{
  PaError outcome = Pa_StartStream(player->stream);
  if (outcome != paNoError) {
    return refuse(outcome, error);
  }
  size_t count;
  while ((count = source(context, player->chunk, CHUNK_SAMPLES)) > 0) {
    outcome = Pa_WriteStream(player->stream, player->chunk, (unsigned long)count);
    // A gap is not a reason to stop
    if (outcome != paNoError && outcome != paOutputUnderflowed) {
      Pa_AbortStream(player->stream);
      return refuse(outcome, error);
    }
  }
  // Waits until all samples have been output
  outcome = Pa_StopStream(player->stream);
  return outcome == paNoError ? SR_OK : refuse(outcome, error);
}

void
sr_player_del(SrPlayer* const player)
{
  if (!player) {
    return;
  }
  const int kept = sr_hush_begin();
  Pa_CloseStream(player->stream);
  Pa_Terminate();
  sr_hush_end(kept);
  free(player);
}
