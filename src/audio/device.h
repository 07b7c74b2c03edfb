// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_DEVICE_H
#define SR_AUDIO_DEVICE_H

#include <steadyreed/stream.h>

#include <portaudio.h>

/// As sr_devices_list(), while PortAudio is initialised.
SrStatus sr_devices_gather(SrDevice** devices, size_t* count, SrError* error);

/**
   Choose a device.

   @param devices As gathered; may be of no device.
   @param words   Number, name or part of a name; NULL or "" for the usual one. A name that fits
                  wholly is preferred to one that fits in part.
   @param output  Whether it is to play, else to listen.
   @param chosen  Receives it; NULL on error.
   @return SR_OK, SR_NOT_FOUND or SR_DEVICE_TROUBLE (there is no such device at all).
*/
SrStatus sr_device_choose(const SrDevice* devices, size_t count, const char* words, bool output,
                          const SrDevice** chosen, SrError* error);

/// Say in words why PortAudio refused; SR_DEVICE_TROUBLE. `name` may be NULL.
SrStatus sr_device_refuse(PaError reason, const char* name, SrError* error);

#endif // SR_AUDIO_DEVICE_H
