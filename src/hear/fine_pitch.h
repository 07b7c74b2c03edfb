// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fine_pitch.h
   The exact frequency of a sound that is roughly known, for a tuner: YIN on windows of 46 ms is off
   by up to 3 cents at the top of the instrument's range, where a period is 20 samples.

   The phases of the harmonics are measured in two windows; how far they advance from one to the
   other is their frequency (the phase vocoder, Flanagan and Golden 1966). The windows are
   Blackman-Harris of four terms (Harris 1978), whose sidelobes, under -92 dB, keep harmonics apart
   from about 90 Hz on.
*/

#ifndef SR_HEAR_FINE_PITCH_H
#define SR_HEAR_FINE_PITCH_H

#include <stddef.h>

typedef struct SrFinePitchImpl SrFinePitch;

/// Create one; NULL without memory. `rate_hz` is 16000 to 192000.
SrFinePitch* sr_fine_pitch_new(double rate_hz);
/// Free; NULL does nothing.
void sr_fine_pitch_del(SrFinePitch* fine);
/// Add samples, of which the last 72 ms are kept. Not finite ones count as silence.
void sr_fine_pitch_push(SrFinePitch* fine, const float* samples, size_t count);
/**
   Frequency of what sounded in the last 72 ms.

   @param rough_hz Its fundamental, or the octave below, within 30 cents.
   @return Hz; `rough_hz` if less than that was pushed, or it is silent.
*/
double sr_fine_pitch_hz(const SrFinePitch* fine, double rough_hz);

#endif // SR_HEAR_FINE_PITCH_H
