// SPDX-License-Identifier: GPL-3.0-or-later

#include "device.h"

#include "quiet_libraries.h"

#include "../utf8.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

SrStatus
sr_devices_gather(SrDevice** const devices, size_t* const count, SrError* const error)
{
  *devices = NULL;
  *count = 0;
  const PaDeviceIndex most = Pa_GetDeviceCount();
  if (most < 0) {
    return sr_device_refuse(most, NULL, error);
  }
  if (most == 0) {
    return SR_OK;
  }
  SrDevice* const made = (SrDevice*)calloc((size_t)most, sizeof(SrDevice));
  if (!made) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to list the devices.");
  }
  size_t made_count = 0;
  for (PaDeviceIndex i = 0; i < most; ++i) {
    const PaDeviceInfo* const info = Pa_GetDeviceInfo(i);
    if (!info) {
      continue;
    }
    const PaHostApiInfo* const system = Pa_GetHostApiInfo(info->hostApi);
    SrDevice* const device = &made[made_count++];
    device->number = i;
    sr_utf8_copy(device->name, sizeof(device->name), info->name);
    sr_utf8_copy(device->system, sizeof(device->system), system ? system->name : "");
    device->inputs = info->maxInputChannels;
    device->outputs = info->maxOutputChannels;
    device->rate_hz = info->defaultSampleRate;
    device->usual_input = i == Pa_GetDefaultInputDevice();
    device->usual_output = i == Pa_GetDefaultOutputDevice();
  }
  *devices = made;
  *count = made_count;
  return SR_OK;
}

SrStatus
sr_devices_list(SrDevice** const devices, size_t* const count, SrError* const error)
{
  *devices = NULL;
  *count = 0;
  const int kept = sr_hush_begin();
  const PaError begun = Pa_Initialize();
  SrStatus outcome;
  if (begun == paNoError) {
    outcome = sr_devices_gather(devices, count, error);
    Pa_Terminate();
  } else {
    outcome = sr_device_refuse(begun, NULL, error);
  }
  sr_hush_end(kept);
  return outcome;
}

static bool
is_able(const SrDevice* const device, const bool output)
{
  return (output ? device->outputs : device->inputs) > 0;
}

static const char*
kind(const bool output)
{
  return output ? "loudspeaker" : "microphone";
}

static SrStatus
refuse_none(const bool output, SrError* const error)
{
  // Control device of the first card: if it exists but is not accessible, that is the reason
  if (access("/dev/snd/controlC0", F_OK) == 0 && access("/dev/snd/controlC0", R_OK | W_OK) != 0 &&
      errno == EACCES) {
    return sr_error_set(error, SR_DEVICE_TROUBLE,
                        "There is a sound card, but you are not allowed to use it. Log in at this "
                        "computer itself, or ask to be added to the group \"audio\".");
  }
  return sr_error_set(error, SR_DEVICE_TROUBLE,
                      "No %s was found. Plug one in, or start the sound server, and try again.",
                      kind(output));
}

/// Parse a device number; false if the words are not one.
static bool
read_number(const char* const words, int* const number)
{
  const size_t length = strlen(words);
  if (length > 6 || strspn(words, "0123456789") != length) {
    return false;
  }
  *number = (int)strtol(words, NULL, 10);
  return true;
}

/// Report an ambiguous name, listing the devices that match.
static SrStatus
refuse_several(const SrDevice* const* const fitting, const size_t count, const char* const words,
               const bool output, SrError* const error)
{
  char list[400] = "";
  size_t used = 0;
  for (size_t i = 0; i < count && used < sizeof(list) - 1; ++i) {
    const int length = snprintf(list + used, sizeof(list) - used, "%s%d %s", i ? ", " : "",
                                fitting[i]->number, fitting[i]->name);
    used += length > 0 ? (size_t)length : 0;
  }
  return sr_error_set(error, SR_NOT_FOUND, "\"%.40s\" matches several %ss; give the number: %s",
                      words, kind(output), list);
}

SrStatus
sr_device_choose(const SrDevice* const devices, const size_t count, const char* const words,
                 const bool output, const SrDevice** const chosen, SrError* const error)
{
  *chosen = NULL;
  const bool usual = !words || !*words;
  const SrDevice* fitting[16];
  const size_t most = sizeof(fitting) / sizeof(fitting[0]);
  size_t fitting_count = 0;
  const SrDevice* whole = NULL;
  size_t whole_count = 0;
  const SrDevice* unable = NULL;
  size_t able_count = 0;
  int number = -1;
  const bool numbered = !usual && read_number(words, &number);
  for (size_t i = 0; i < count; ++i) {
    const SrDevice* const device = &devices[i];
    const bool is_named = numbered && device->number == number;
    if (!is_able(device, output)) {
      unable = is_named || (!usual && strcasecmp(device->name, words) == 0) ? device : unable;
      continue;
    }
    ++able_count;
    if (usual ? (output ? device->usual_output : device->usual_input) : is_named) {
      *chosen = device;
    } else if (!usual && strcasestr(device->name, words)) {
      if (strcasecmp(device->name, words) == 0) {
        whole = device;
        ++whole_count;
      }
      // A number is not meant as part of "(hw:0,0)"
      if (!numbered) {
        if (fitting_count < most) {
          fitting[fitting_count] = device;
        }
        ++fitting_count;
      }
    }
  }
  // Two devices with the same whole name are ambiguous
  if (!*chosen && whole_count == 1) {
    *chosen = whole;
  }
  if (*chosen) {
    return SR_OK;
  }
  if (!able_count) {
    return refuse_none(output, error);
  }
  if (usual) {
    return sr_error_set(error, SR_DEVICE_TROUBLE,
                        "The system has no default %s. Choose one by its number or name.",
                        kind(output));
  }
  if (unable) {
    return sr_error_set(error, SR_NOT_FOUND, "\"%.100s\" has no %s.", unable->name,
                        output ? "output" : "microphone");
  }
  if (!fitting_count) {
    return sr_error_set(error, SR_NOT_FOUND, "No %s is called \"%.100s\".", kind(output), words);
  }
  if (fitting_count == 1) {
    *chosen = fitting[0];
    return SR_OK;
  }
  return refuse_several(fitting, fitting_count < most ? fitting_count : most, words, output, error);
}

SrStatus
sr_device_refuse(const PaError reason, const char* const name, SrError* const error)
{
  const char* text = Pa_GetErrorText(reason);
  const PaHostErrorInfo* const host =
      reason == paUnanticipatedHostError ? Pa_GetLastHostErrorInfo() : NULL;
  if (host && host->errorText && host->errorText[0]) {
    text = host->errorText;
  }
  const char* const called = name && *name ? name : "sound system";
  // ALSA passes on the system's own words
  if (reason == paDeviceUnavailable || strstr(text, strerror(EBUSY))) {
    return sr_error_set(error, SR_DEVICE_TROUBLE,
                        "Another program is using the %.100s. Close it and try again.", called);
  }
  if (strstr(text, strerror(EACCES)) || strstr(text, strerror(EPERM))) {
    return sr_error_set(error, SR_DEVICE_TROUBLE,
                        "You are not allowed to use the %.100s. Log in at this computer itself, or "
                        "ask to be added to the group \"audio\".",
                        called);
  }
  if (reason == paInvalidSampleRate) {
    return sr_error_set(error, SR_DEVICE_TROUBLE,
                        "The %.100s does not support the microphone's sample rate. Choose a device "
                        "on the same card, or one of the sound server's.",
                        called);
  }
  return sr_error_set(error, SR_DEVICE_TROUBLE,
                      "The %.100s cannot be used (%.150s). Is it still plugged in, and is the "
                      "sound server running?",
                      called, text);
}
