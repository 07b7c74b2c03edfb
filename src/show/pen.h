// SPDX-License-Identifier: GPL-3.0-or-later

// Colours and words for all drawings. Lengths are points (1/72 inch).

#ifndef SR_SHOW_PEN_H
#define SR_SHOW_PEN_H

#include "drawing.h"

#include <cairo.h>
#include <pango/pangocairo.h>

#include <stdbool.h>

/// A colour.
typedef struct {
  double red;
  double green;
  double blue;
} SrColour;

// The colour-blind-safe palette of Okabe and Ito (2008), "Color Universal Design", from memory.
// Orange is light and blue is dark, so that they differ on paper without colour, too.
#define SR_COLOUR_PRESS ((SrColour){0.902, 0.624, 0.0}) ///< Their orange, #E69F00
#define SR_COLOUR_DRAW ((SrColour){0.0, 0.447, 0.698})  ///< Their blue, #0072B2
#define SR_COLOUR_AIR ((SrColour){0.0, 0.620, 0.451})   ///< Their bluish green, #009E73
#define SR_COLOUR_INK ((SrColour){0.0, 0.0, 0.0})       ///< Their black
#define SR_COLOUR_PAPER ((SrColour){1.0, 1.0, 1.0})
#define SR_COLOUR_SOFT_INK ((SrColour){0.33, 0.33, 0.33}) ///< 7.5 : 1 against the paper
#define SR_COLOUR_LINE ((SrColour){0.62, 0.62, 0.62})     ///< Lines that only help
#define SR_COLOUR_SHADE ((SrColour){0.91, 0.91, 0.91})    ///< Little room left
#define SR_COLOUR_PANEL ((SrColour){0.96, 0.96, 0.96})    ///< The ends of the box

/// How words look.
typedef struct {
  double size;
  bool bold;
  SrColour colour;
  double most_width; ///< Words that are wider are made smaller, and then cut short with "…"; 0 for
                     ///< no limit
  double smallest; ///< Share of its size that they may go down to; 0 for half
  bool halo;       ///< Paper around the letters, where they may cross a line
} SrFont;

/// What draws. Not shared between threads.
typedef struct {
  cairo_t* cairo;
  PangoLayout* words;
  /// Called for all words drawn, with the place of their letters; may be NULL.
  void (*said)(void* context, const char* text, const SrArea* letters);
  void* said_context;
} SrPen;

/// Begin to draw on a context, which must outlive the pen. False without memory.
bool sr_pen_begin(SrPen* pen, cairo_t* cairo);
/// Free what it holds; NULL in its fields does nothing.
void sr_pen_end(SrPen* pen);

/// Whether any font has letters for what is to be said in English.
bool sr_pen_has_letters(const SrPen* pen);

void sr_pen_colour(const SrPen* pen, SrColour colour);

/// Width of words.
double sr_pen_width(const SrPen* pen, const SrFont* font, const char* text);
/// Height that a line of words is given: from the top of its capitals to the bottom of a "g".
double sr_pen_height(const SrFont* font);
/// Draw words whose line begins at `left` and lies between `top` and `top` + its height.
void sr_pen_say(const SrPen* pen, const SrFont* font, const char* text, double left, double top);
/// The same, about a middle.
void sr_pen_say_middle(const SrPen* pen, const SrFont* font, const char* text, double middle,
                       double top);
/// A note with its octave as a small figure, both about a middle: "F♯5".
void sr_pen_say_note(const SrPen* pen, const SrFont* font, const char* note, double x, double y);

/// A triangle for the direction: upwards for a draw, downwards for a press.
void sr_pen_direction(const SrPen* pen, bool draw, double x, double y, double size);
/// The outline of a rectangle with round corners, as a path.
void sr_pen_round_path(const SrPen* pen, const SrArea* area, double radius);

#endif // SR_SHOW_PEN_H
