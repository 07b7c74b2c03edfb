// SPDX-License-Identifier: GPL-3.0-or-later

// Which time of a recording is where in a picture of it, and times in words.

#ifndef SR_WINDOW_TIME_SCALE_H
#define SR_WINDOW_TIME_SCALE_H

#include <stdbool.h>
#include <stddef.h>

/// Least time that is shown at once, s, unless the recording is shorter.
#define SR_TIME_SCALE_LEAST_S 0.5

/// A part of a recording over a width.
typedef struct {
  double seconds; ///< Of the whole recording, over 0
  double from_s;  ///< Where the part begins
  double shown_s; ///< How long it is, at most `seconds`
  double width;   ///< Pixels
} SrTimeScale;

/// All of a recording.
SrTimeScale sr_time_scale_all(double seconds, double width);
/// Place of a time, pixels from the left; it may be outside of the width.
double sr_time_scale_place(const SrTimeScale* scale, double at_s);
/// The time at a place, 0 to the length of the recording.
double sr_time_scale_time(const SrTimeScale* scale, double place);
/// Show more (a factor over 1) or less; the time stays where it is, as far as the ends allow.
void sr_time_scale_zoom(SrTimeScale* scale, double factor, double about_s);
/// Begin with another time, as far as the ends allow.
void sr_time_scale_move(SrTimeScale* scale, double from_s);
/// Show a stretch with some room at both sides.
void sr_time_scale_fit(SrTimeScale* scale, double from_s, double to_s);
/// Seconds from label to label, a round number, so that labels are at least this far apart.
double sr_time_scale_step(const SrTimeScale* scale, double least_pixels);

/// Size of a time in words, bytes with its NUL.
#define SR_TIME_WORDS_SIZE 24

/// "0:07", "1:02:05"; with tenths "0:07.5"; rounded.
void sr_time_words(double at_s, bool tenths, char words[SR_TIME_WORDS_SIZE]);

#endif // SR_WINDOW_TIME_SCALE_H
