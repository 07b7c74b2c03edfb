// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_path.h
   What loudspeaker, room and microphone make of a click: one impulse response for both sounds,
   learnt bin by bin and foretold for the next click.
*/

#ifndef SR_HEAR_CLICK_PATH_H
#define SR_HEAR_CLICK_PATH_H

#include <stdbool.h>
#include <stddef.h>

typedef struct SrClickPathImpl SrClickPath;

/// What a click taught.
typedef struct {
  double shift;     ///< It came so much later than foretold, samples
  double deviation; ///< Standard deviation of that
  double sureness;  ///< Height of its match over the spread that what else sounds gives it
} SrClickLesson;

/**
   Make one.

   @param rate_hz Sample rate.
   @param sounds  Plain and accented sound, full scale 1 as they leave.
   @param counts  Their samples.
   @param period  Samples from click to click: the response may not be longer.
   @return NULL without memory.
*/
SrClickPath* sr_click_path_new(double rate_hz, const float* const sounds[2], const size_t counts[2],
                               double period);
/// Free; NULL does nothing.
void sr_click_path_del(SrClickPath* path);
/// Samples that a click is looked at, and foretold,
size_t sr_click_path_window(const SrClickPath* path);
/// of which so many are before it arrives.
size_t sr_click_path_lead(const SrClickPath* path);
/// Samples before that window that sr_click_path_learn() looks at.
size_t sr_click_path_before(const SrClickPath* path);
/// Forget all.
void sr_click_path_reset(SrClickPath* path);
/**
   Learn from a click.

   @param samples  What came in, the click in it: sr_click_path_window() samples, and before them
                   sr_click_path_before() in which none is expected. All finite.
   @param accent   Which sound it was.
   @param fraction Where it was expected, samples after the end of the lead, -0.5 to 0.5.
   @param deviation Standard deviation of that, samples.
   @return What it taught; from the first one only its `shift` of 0.
*/
SrClickLesson sr_click_path_learn(SrClickPath* path, const float* samples, bool accent,
                                  double fraction, double deviation);
/**
   Foretell a click.

   @param fraction Where it is expected, as above.
   @return sr_click_path_window() samples, valid until the next call.
*/
const float* sr_click_path_foretell(SrClickPath* path, bool accent, double fraction);
/// Power that will be left of a click, against its own: how uncertain the response is.
double sr_click_path_left(const SrClickPath* path);
/// Level of clicks against what was learnt first: under 1 they became softer.
double sr_click_path_gain(const SrClickPath* path);

#endif // SR_HEAR_CLICK_PATH_H
