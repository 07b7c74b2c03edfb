// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file mask.h
   What the ear can hear in the presence of another sound: psychoacoustic model 1 of ISO/IEC
   11172-3:1993, annex D.1, as far as needed to decide whether noise under a note is audible.
*/

#ifndef STEADYREED_MASK_H
#define STEADYREED_MASK_H

#include <steadyreed/declarations.h>
#include <steadyreed/hear.h>

SR_BEGIN_DECLARATIONS

/// Sound pressure level of a full-scale sine, dB, as in the standard.
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
   Masking at a distance relative to the masker's level, dB: the function vf of the standard.
   Steeper towards lower pitches, and flatter towards higher ones as the level rises.

   @param level_db Sound pressure level of the masker, dB.
   @param distance From the masker to the masked band, Bark.
   @return 0 or less; -INFINITY more than 3 Bark below the masker or 8 Bark above it.
*/
double sr_mask_spread_db(double level_db, double distance);
/// Masking index of a tone at its own frequency, dB: -1.525 - 0.275 z - 4.5.
double sr_mask_tone_db(double bark);
/// Masking index of noise, dB: -1.525 - 0.175 z - 0.5.
double sr_mask_noise_db(double bark);
/// Sound pressure level of a mean square, dB; 0.5, a full-scale sine, gives SR_MASK_FULL_SCALE_DB.
double sr_mask_level_db(double mean_square);
/**
   The threshold, dB of sound pressure, in the middle of a critical band with the tones and noise
   around an air release as maskers: the power sum of their masking and the threshold in quiet.

   @param air  Its `tone`, `place_hz` and `noise` are the maskers.
   @param band Less than SR_BANDS.
*/
double sr_mask_threshold_db(const SrAirHeard* air, size_t band);
/**
   Extra level a short sound needs to be heard, dB: the ear integrates over 200 ms, so 10 dB per
   factor of ten below that (temporal integration; Fastl and Zwicker, Psychoacoustics, 4.4, from
   memory). The standard deals with continuous sound and has no such term.

   @param length_s Over 0; from 0.2 on the result is 0.
*/
double sr_mask_brief_db(double length_s);
/**
   Level of an air release above its masking threshold, dB: the noise-to-mask ratio averaged over
   two adjacent critical bands, the largest such mean from 0.5 to 10 kHz, minus sr_mask_brief_db()
   of its length.
*/
double sr_mask_over_db(const SrAirHeard* air);

SR_END_DECLARATIONS

#endif // STEADYREED_MASK_H
