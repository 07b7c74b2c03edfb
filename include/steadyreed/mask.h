// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file mask.h
   What the ear can and cannot hear beside something else: the psychoacoustic model 1 of
   ISO/IEC 11172-3:1993, annex D.1, as far as it is needed to say whether noise under a
   note is heard.
*/

#ifndef STEADYREED_MASK_H
#define STEADYREED_MASK_H

#include <steadyreed/hear.h>

#ifdef __cplusplus
extern "C" {
#endif

/// A sine at full scale counts as this, dB of sound pressure, as in the standard.
#define SR_MASK_FULL_SCALE_DB 96.0

/**
   Critical-band rate, Bark: 13 atan(0.00076 f) + 3.5 atan((f / 7500)^2)
   (Zwicker and Terhardt 1980), f in Hz, over 0.
*/
double sr_mask_bark(double hz);
/**
   Threshold in quiet, dB of sound pressure:
   3.64 k^-0.8 - 6.5 exp(-0.6 (k - 3.3)^2) + 0.001 k^4 (Terhardt 1979), k in kHz, over 0.
*/
double sr_mask_quiet_db(double hz);
/**
   How far under a masker's level it masks, dB, by distance alone: the function vf of the
   standard. Steeper towards lower pitches, and flatter upwards the louder it is.

   @param level_db The masker, dB of sound pressure.
   @param distance From the masker to where it masks, Bark.
   @return 0 or less; -INFINITY further than 3 Bark under it and 8 Bark over it.
*/
double sr_mask_spread_db(double level_db, double distance);
/// How far under its own level a tone masks at its own place, dB: -1.525 - 0.275 z - 4.5.
double sr_mask_tone_db(double bark);
/// The same for noise: -1.525 - 0.175 z - 0.5.
double sr_mask_noise_db(double bark);
/// Sound pressure of a mean square, dB: a sine at full scale, 0.5, is SR_MASK_FULL_SCALE_DB.
double sr_mask_level_db(double mean_square);
/**
   The least level, dB of sound pressure, at which something in the middle of a critical
   band is heard beside the tones and the noise of a release's surroundings: the sum of
   what each masks, and the threshold in quiet.

   @param air  Its `tone`, `place_hz` and `noise` are the maskers.
   @param band Under SR_BANDS.
*/
double sr_mask_threshold_db(const SrAirHeard* air, size_t band);
/**
   How much more level a short sound needs to be heard, dB: the ear adds up over 200 ms, so 10 dB
   for each tenth of that (temporal integration; Fastl and Zwicker, Psychoacoustics, 4.4, from
   memory). The standard, which is for sound that goes on, has no such thing.

   @param length_s Over 0; from 0.2 on the result is 0.
*/
double sr_mask_brief_db(double length_s);
/**
   How far a release of air is over what masks it, dB: the noise-to-mask ratio of the two
   neighbouring critical bands, from 0.5 to 10 kHz, in which it is largest, less
   sr_mask_brief_db() of its length.
*/
double sr_mask_over_db(const SrAirHeard* air);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_MASK_H
