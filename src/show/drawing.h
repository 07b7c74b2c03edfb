// SPDX-License-Identifier: GPL-3.0-or-later

// The contents of a drawing as plain values: no files, no Cairo, no search.

#ifndef SR_SHOW_DRAWING_H
#define SR_SHOW_DRAWING_H

#include <steadyreed/instrument.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A button of the layout. Texts are valid UTF-8.
typedef struct {
  SrHand hand;
  int row;    ///< 1 is nearest to the palm; 0 for an extra button
  int column; ///< From 1, growing to the right on both hands
  SrFinger finger;
  const char* name;  ///< Such as "L2-3"
  const char* press; ///< Such as "F♯5"; "" for nothing
  const char* draw;
  bool uses_press; ///< The plan plays a note with it on press
  bool uses_draw;
  bool cuts_press; ///< The plan plays a cut with it on press
  bool cuts_draw;
} SrDrawnButton;

/// An instrument.
typedef struct {
  const SrDrawnButton* buttons;
  size_t count;
  SrHand air_hand;
  SrFinger air_finger;
  bool uses_air; ///< The plan takes air
  bool straight; ///< Draw rows straight, not slanted
} SrDrawnLayout;

/// A cut before a note.
typedef enum {
  SR_DRAWN_NO_CUT,
  SR_DRAWN_CUT,
  SR_DRAWN_CUT_LEFT_OUT, ///< Written, but no button plays one in the plan's direction
} SrDrawnCut;

/// A lower note of a chord.
typedef struct {
  const char* name;   ///< Such as "F♯4"
  const char* button; ///< Such as "L2-3"; "" if no finger reaches one
  SrFinger finger;
} SrDrawnSound;

/// A note on the bellows line.
typedef struct {
  double start;  ///< From the start of the phrase, in any unit of time
  double length; ///< Over 0
  double before; ///< Opening of the bellows when it begins, 0 shut to 1 full
  double after;  ///< Opening when it ends
  bool draw;     ///< The bellows are opening
  bool turns;    ///< The bellows turn before it
  bool air;      ///< Air is taken during it as drawn
  SrDrawnCut cut;
  SrFinger finger;
  SrFinger cut_finger;
  const char* name;           ///< Such as "F♯"
  const char* octave;         ///< Such as "4"
  const char* button;         ///< Such as "L2-3"
  const char* cut_name;       ///< "" without one
  const char* cut_button;     ///< "" without one
  const char* air_words;      ///< When air is taken, such as "air" or "air 2nd time"; "" for never
  const SrDrawnSound* sounds; ///< The lower notes of a chord
  size_t sound_count;
} SrDrawnStroke;

/// As SrDrawnBar.like: no earlier bar is the same.
#define SR_DRAWN_LIKE_NONE SIZE_MAX

/// A bar.
typedef struct {
  double start;
  double length;     ///< Over 0
  double pulse;      ///< The foot's beat; 0 for none
  int number;        ///< 0 for a pickup
  size_t like;       ///< An earlier bar that is the same; SR_DRAWN_LIKE_NONE if none is
  const char* words; ///< Beside its number, such as "1st time"; NULL for none
} SrDrawnBar;

/// Bars that begin on a new line.
typedef struct {
  const char* words; ///< Above them, such as "Bars 1 to 8, twice"; "" for none
  size_t first_bar;
  size_t bar_count; ///< At least 1
} SrDrawnPart;

/// A phrase on the bellows line; all arrays in order of time, each bar in one part.
typedef struct {
  const SrDrawnStroke* strokes;
  size_t stroke_count;
  const SrDrawnBar* bars;
  size_t bar_count;
  const SrDrawnPart* parts;
  size_t part_count; ///< At least 1 if there are bars
} SrDrawnPhrase;

/// A rectangle; y grows downwards.
typedef struct {
  double left;
  double top;
  double width;
  double height;
} SrArea;

/// Whether two rectangles overlap, with a margin of `pad`.
static inline bool
sr_area_meets(const SrArea* const a, const SrArea* const b, const double pad)
{
  return a->left < b->left + b->width + pad && b->left < a->left + a->width + pad &&
         a->top < b->top + b->height + pad && b->top < a->top + a->height + pad;
}

#endif // SR_SHOW_DRAWING_H
