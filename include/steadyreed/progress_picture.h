// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file progress_picture.h
   How a phrase has gone from day to day, drawn on a Cairo context of any size: a small chart for
   each figure that was measured at all, one over the other, with one axis of days for all.

   A day that was not practised, or on which a figure could not be measured, leaves a gap: only
   marks of days that follow each other are joined by a line. Each figure has a mark of its own
   shape. The clean tempo comes first and is the largest; a dot is the mean of the rounds without a
   fault, the cap above it the fastest of them, and a dashed line the best so far. The spread and
   the distance from the click have the just noticeable band shaded; it is that of quick notes, 6 ms
   (see sr_judge_just_noticeable_ms()). Minutes are bars, those of all phrases together outlined
   behind them. On the right, or above each chart where it is narrow, the last value stands in
   words.

   Where days would be closer than their marks, those of a week, a month, a quarter or a year are
   put together, which the picture then says: a mark is the median of their days, and minutes are
   their sum.
*/

#ifndef STEADYREED_PROGRESS_PICTURE_H
#define STEADYREED_PROGRESS_PICTURE_H

#include <steadyreed/declarations.h>
#include <steadyreed/history.h>
#include <steadyreed/status.h>

#include <cairo.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// What is drawn. Nothing of it is needed after sr_progress_picture_new().
typedef struct {
  const SrPracticeDay* days; ///< Of one phrase, in order; at least one
  size_t day_count;
  const SrPracticeDay* every; ///< Days of all phrases together, in order, of which the seconds are
                              ///< shown; NULL for none
  size_t every_count;
  int last_day; ///< Last day of the axis, as by sr_moment_day(), such as today; anything earlier
                ///< than the last of `days` is that one
} SrPicturedProgress;

/// How it is drawn; all zero is the default.
typedef struct {
  bool dark;          ///< Light on dark. The background is left to the caller in either case
  bool minutes_first; ///< Put the minutes above the other charts
  double most_size;   ///< Largest size of letters, units of the context, 4 or more; 0 for no limit
} SrProgressStyle;

/// Progress laid out for one size. Not shared between threads.
typedef struct SrProgressPictureImpl SrProgressPicture;

/// Least width of a picture, units of the context.
#define SR_PROGRESS_LEAST_WIDTH 240.0

/**
   Lay progress out.

   @param pictured What is drawn.
   @param style    NULL for all zero.
   @param width    SR_PROGRESS_LEAST_WIDTH or more, units of the context (pixels or points).
   @param height   Room for it, in the same units, over 0: charts, and if need be letters, are as
                   tall as that allows. INFINITY for as tall as is good to read.
   @param picture  Receives it; free it with sr_progress_picture_del(). NULL on error.
   @return SR_OK; SR_BAD_ARGUMENT (a size or style out of range, no day, days out of order);
           SR_NOT_FOUND (no font with letters) or SR_NO_MEMORY.
*/
SrStatus sr_progress_picture_new(const SrPicturedProgress* pictured, const SrProgressStyle* style,
                                 double width, double height, SrProgressPicture** picture,
                                 SrError* error);
/// Height it takes, units of the context; at most the room it was given, unless that is too little
/// for letters of size 4.
double sr_progress_picture_height(const SrProgressPicture* picture);
/**
   Draw it.

   @param left, top Its upper left corner, units of the context.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_progress_picture_draw(const SrProgressPicture* picture, cairo_t* cairo, double left,
                                  double top);

/// Size of the picture in words, bytes with their NUL.
#define SR_PROGRESS_WORDS_SIZE 1024

/// What it shows in words, for who cannot see it: the days, and the last value of each chart.
/// Returns `words`.
const char* sr_progress_picture_words(const SrProgressPicture* picture,
                                      char words[SR_PROGRESS_WORDS_SIZE]);
/// Free; NULL does nothing.
void sr_progress_picture_del(SrProgressPicture* picture);

SR_END_DECLARATIONS

#endif // STEADYREED_PROGRESS_PICTURE_H
