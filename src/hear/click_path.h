// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_path.h
   The path of a click through loudspeaker, room and microphone: one impulse response for both
   sounds, estimated bin by bin and used to predict the next click.
*/

#ifndef SR_HEAR_CLICK_PATH_H
#define SR_HEAR_CLICK_PATH_H

#include <stdbool.h>
#include <stddef.h>

typedef struct SrClickPathImpl SrClickPath;

/// What was learnt from a click.
typedef struct {
  double shift;     ///< Delay against the prediction, samples
  double deviation; ///< Standard deviation of `shift`
  double sureness;  ///< Height of its match in standard deviations due to other sounds
} SrClickLesson;

/**
   Make one.

   @param rate_hz Sample rate.
   @param sounds  Plain and accented sound as emitted, full scale 1.
   @param counts  Their samples.
   @param period  Samples from click to click; the response is no longer than that.
   @return NULL if out of memory.
*/
SrClickPath* sr_click_path_new(double rate_hz, const float* const sounds[2], const size_t counts[2],
                               double period);
/// Free; NULL is allowed.
void sr_click_path_del(SrClickPath* path);
/// Length of the window in which a click is observed and predicted, samples.
size_t sr_click_path_window(const SrClickPath* path);
/// Number of these before it arrives.
size_t sr_click_path_lead(const SrClickPath* path);
/// Samples before that window that sr_click_path_learn() reads.
size_t sr_click_path_before(const SrClickPath* path);
/// Forget everything.
void sr_click_path_reset(SrClickPath* path);
/**
   Learn from a click.

   @param samples   The input with the click: sr_click_path_window() samples, and before them
                    sr_click_path_before() without one. All finite.
   @param accent    Which sound it was.
   @param fraction  Expected arrival, samples after the end of the lead, -0.5 to 0.5.
   @param deviation Standard deviation of that, samples.
   @return What was learnt; from the first click only a `shift` of 0.
*/
SrClickLesson sr_click_path_learn(SrClickPath* path, const float* samples, bool accent,
                                  double fraction, double deviation);
/**
   Predict a click.

   @param fraction Expected arrival, as above.
   @return sr_click_path_window() samples, valid until the next call.
*/
const float* sr_click_path_predict(SrClickPath* path, bool accent, double fraction);
/// Expected residual power relative to the click's: the uncertainty of the response.
double sr_click_path_left(const SrClickPath* path);
/// Level of the clicks relative to the first estimate: under 1 they became softer.
double sr_click_path_gain(const SrClickPath* path);

#endif // SR_HEAR_CLICK_PATH_H
