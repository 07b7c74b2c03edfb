// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file round_picture.h
   A judged round, drawn on a Cairo context of any size: what was written and what was heard, over
   each other. It needs neither a file nor a sound, and a round that is still being played can be
   drawn as far as it goes.

   Time runs to the right, bar by bar, and longer phrases are broken into lines by bars. With a plan
   the line is the bellows line: it rises on a draw and falls on a press. Without one it follows the
   pitch. An outline is what was written; what is filled was heard, as long as it sounded and as
   late or early as it came. A tick across is a cut, a hollow one a cut that was not heard, one with
   a ring a cut that is not written; a filled block is a cut as long as a note. A bar over two notes
   says that they ran together. A dashed outline is a note missed, a cross a wrong note, an
   arrowhead under the line an extra note, a wave over it air that was heard. Breaks in the flow are
   named above. Below each line is a strip of offsets about a zero line, with the just noticeable
   band shaded. Faults have one colour of their own, and always a shape of their own as well.
*/

#ifndef STEADYREED_ROUND_PICTURE_H
#define STEADYREED_ROUND_PICTURE_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/plan.h>
#include <steadyreed/status.h>

#include <cairo.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// As SrPicturedRound.reached: the whole round was judged.
#define SR_REACHED_ALL SIZE_MAX

/// What is drawn. Nothing of it is needed after sr_round_picture_new().
typedef struct {
  const SrPhrase* phrase;         ///< What was to be played
  const SrRound* round;           ///< One verdict for each note of the phrase. Of a round that goes
                                  ///< on, all but `notes` and `note_count`, as in SrSoFar, may be
                                  ///< zero
  size_t reached;                 ///< Notes judged so far, 0 to the number of notes; those after
                                  ///< them are only outlined. SR_REACHED_ALL for all
  const SrPlan* plan;             ///< Of this phrase; NULL for a line that follows the pitch
  const SrInstrument* instrument; ///< Whose buttons the plan names; NULL without a plan
  size_t first_bar;               ///< First bar drawn, an index of sr_phrase_bar(),
  size_t bar_count;               ///< and how many; 0 for all
} SrPicturedRound;

/// How it is drawn; all zero is the default.
typedef struct {
  bool dark;        ///< Light on dark. The background is left to the caller in either case
  bool no_offsets;  ///< Leave out the strip of offsets
  bool close;       ///< Put notes as close together as their names allow
  double most_size; ///< Largest size of letters, units of the context, 4 or more; 0 for no limit
} SrRoundStyle;

/// A round laid out for one size. Not shared between threads.
typedef struct SrRoundPictureImpl SrRoundPicture;

/// Least width of a picture, units of the context.
#define SR_ROUND_LEAST_WIDTH 120.0

/**
   Lay a round out.

   @param pictured What is drawn.
   @param style    NULL for all zero.
   @param width    SR_ROUND_LEAST_WIDTH or more, units of the context (pixels or points).
   @param height   Room for it, in the same units, over 0: the letters are as large as that allows.
                   INFINITY for as tall as is good to read.
   @param picture  Receives it; free it with sr_round_picture_del(). NULL on error.
   @return SR_OK; SR_BAD_ARGUMENT (a size or style out of range, a round or plan of another phrase);
           SR_NOT_FOUND (no font with letters) or SR_NO_MEMORY.
*/
SrStatus sr_round_picture_new(const SrPicturedRound* pictured, const SrRoundStyle* style,
                              double width, double height, SrRoundPicture** picture,
                              SrError* error);
/// Height it takes, units of the context; at most the room it was given.
double sr_round_picture_height(const SrRoundPicture* picture);
/**
   Draw it.

   @param left, top Its upper left corner, units of the context.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_round_picture_draw(const SrRoundPicture* picture, cairo_t* cairo, double left,
                               double top);

/// A part of a picture, units of the context, from the corner of the picture.
typedef struct {
  double left;
  double top;
  double width;
  double height;
} SrRoundBox;

/**
   Where a time lies.

   @param time Whole notes from the start of the phrase; outside the picture it is the nearest one
               that is drawn.
   @param box  Receives a box without width, as high as its line with the names.
*/
void sr_round_picture_time(const SrRoundPicture* picture, double time, SrRoundBox* box);
/**
   Where a bar lies, with its number and offsets. A bar on two lines is where it begins.

   @param bar As an index of sr_phrase_bar().
   @param box Receives it; untouched if the bar is not drawn.
   @return Whether it is drawn.
*/
bool sr_round_picture_bar(const SrRoundPicture* picture, size_t bar, SrRoundBox* box);
/**
   The bar at a point, or the nearest.

   @param x, y From the corner of the picture.
   @return An index of sr_phrase_bar().
*/
size_t sr_round_picture_bar_at(const SrRoundPicture* picture, double x, double y);
/// Size of the notes' names, units of the context.
double sr_round_picture_letters(const SrRoundPicture* picture);
/// Free; NULL does nothing.
void sr_round_picture_del(SrRoundPicture* picture);

/**
   Draw a round as small as a button: a mark for each note, or for each few, low where it was right
   and tall where anything went wrong.

   @param dark Light on dark.
   @param left, top, width, height Where, units of the context.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_round_marks_draw(const SrRound* round, bool dark, cairo_t* cairo, double left,
                             double top, double width, double height);

/// The colour of paper for light or dark pictures, each part 0 to 1.
void sr_round_paper(bool dark, double* red, double* green, double* blue);

SR_END_DECLARATIONS

#endif // STEADYREED_ROUND_PICTURE_H
