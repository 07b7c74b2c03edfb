// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_DEVICE_H
#define SR_AUDIO_DEVICE_H

#include <steadyreed/stream.h>

#include <portaudio.h>

/// As sr_devices_list(); PortAudio must be initialised.
SrStatus sr_devices_gather(SrDevice** devices, size_t* count, SrError* error);

/**
   Choose a device.

   @param devices From sr_devices_gather(); may be empty.
   @param words   Number, name or part of a name; NULL or "" for the default. A whole match is
                  preferred to a partial one.
   @param output  Whether an output is wanted, otherwise an input.
   @param chosen  Receives it; NULL on error.
   @return SR_OK, SR_NOT_FOUND or SR_DEVICE_TROUBLE (there is no such device at all).
*/
SrStatus sr_device_choose(const SrDevice* devices, size_t count, const char* words, bool output,
                          const SrDevice** chosen, SrError* error);

/// Describe PortAudio's error; returns SR_DEVICE_TROUBLE. `name` may be NULL.
SrStatus sr_device_refuse(PaError reason, const char* name, SrError* error);

#endif // SR_AUDIO_DEVICE_H
