// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file clicks.h
   Clicks as a microphone hears them: through a small loudspeaker and a room. Shares nothing with
   what takes them out.
*/

#ifndef TEST_CLICKS_H
#define TEST_CLICKS_H

#include <steadyreed/click.h>

#include <stddef.h>
#include <stdint.h>

/// Their way to the microphone.
typedef struct {
  double delay;     ///< Samples, with fractions
  double level;     ///< Largest sample of the loudest plain click as it arrives
  double rt60_s;    ///< Room; 0 for none
  double direct_db; ///< Direct over reflected sound
  double drift;     ///< Output's clock against the input's: period times 1 + drift
  double drive;     ///< Of the loudspeaker: 0 for a linear one
  uint64_t seed;
} ClickWay;

/// A setting with the sounds of sr_sound_click(), to be freed with setting_free().
SrClickSetting setting_make(double rate_hz, double period, unsigned bar_clicks, unsigned count_in,
                            double began);
void setting_free(SrClickSetting* setting);
/**
   Add all clicks of a setting to samples.

   @param alone Receives the clicks alone if not NULL, `count` samples.
*/
void clicks_add(const SrClickSetting* setting, const ClickWay* way, float* samples, size_t count,
                float* alone);

#endif // TEST_CLICKS_H
