// SPDX-License-Identifier: GPL-3.0-or-later

// Colours and words for all drawings. Lengths are in points (1/72 inch).

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
// Orange is light and blue is dark, so they also differ without colour.
#define SR_COLOUR_PRESS ((SrColour){0.902, 0.624, 0.0}) ///< Their orange, #E69F00
#define SR_COLOUR_DRAW ((SrColour){0.0, 0.447, 0.698})  ///< Their blue, #0072B2
#define SR_COLOUR_AIR ((SrColour){0.0, 0.620, 0.451})   ///< Their bluish green, #009E73
#define SR_COLOUR_FAULT ((SrColour){0.835, 0.369, 0.0}) ///< Their vermillion, #D55E00
#define SR_COLOUR_INK ((SrColour){0.0, 0.0, 0.0})       ///< Their black
#define SR_COLOUR_PAPER ((SrColour){1.0, 1.0, 1.0})
#define SR_COLOUR_SOFT_INK ((SrColour){0.33, 0.33, 0.33})     ///< 7.5 : 1 against the paper
#define SR_COLOUR_LINE ((SrColour){0.62, 0.62, 0.62})         ///< Auxiliary lines
#define SR_COLOUR_SHADE ((SrColour){0.91, 0.91, 0.91})        ///< Low room
#define SR_COLOUR_DRAW_LANE ((SrColour){0.90, 0.95, 0.985})   ///< Behind drawn notes' words
#define SR_COLOUR_PRESS_LANE ((SrColour){0.995, 0.955, 0.86}) ///< Behind pressed notes' words
#define SR_COLOUR_PANEL ((SrColour){0.96, 0.96, 0.96})        ///< The ends of the box

/// Font of words.
typedef struct {
  double size;
  bool bold;
  SrColour colour;
  double most_width; ///< Wider words are made smaller, then cut short with "…"; 0 for no limit
  double smallest;   ///< Smallest share of the size before cutting; 0 for half
  bool halo;         ///< Paper colour around the letters, where they may cross a line
  double narrow;     ///< Width of the letters against the usual one; 0 for 1
} SrFont;

/// Drawing state. Not shared between threads.
typedef struct {
  cairo_t* cairo;
  PangoLayout* words;
  /// Called for all words drawn, with the area of their letters; may be NULL.
  void (*said)(void* context, const char* text, const SrArea* letters);
  void* said_context;
} SrPen;

/// A context for measuring only; cairo_destroy() it.
cairo_t* sr_pen_measuring(void);
/// Begin drawing on a context, which must outlive the pen. False without memory.
bool sr_pen_begin(SrPen* pen, cairo_t* cairo);
/// Free what it holds; NULL fields are ignored.
void sr_pen_end(SrPen* pen);

/// What to say if there is none.
#define SR_PEN_NO_LETTERS                                                                          \
  "This computer has no font to write words with. Install one, such as the package "               \
  "fonts-dejavu-core."

/// Whether a font with Latin letters is available.
bool sr_pen_has_letters(const SrPen* pen);

void sr_pen_colour(const SrPen* pen, SrColour colour);
/// Fill a rectangle.
void sr_pen_fill(const SrPen* pen, SrColour colour, double left, double top, double width,
                 double height);
/// Draw a straight line.
void sr_pen_rule(const SrPen* pen, SrColour colour, double width, double x0, double y0, double x1,
                 double y1);

/// Width of words.
double sr_pen_width(const SrPen* pen, const SrFont* font, const char* text);
/// Height of a line of words: from the top of its capitals to the bottom of a "g".
double sr_pen_height(const SrFont* font);
/// Draw words with their left edge at `left` and their line from `top` down.
void sr_pen_say(const SrPen* pen, const SrFont* font, const char* text, double left, double top);
/// Height of a capital letter against the font size.
double sr_pen_capital(const SrPen* pen, bool bold);
/// Area of the letters of words, from the left end of their baseline.
SrArea sr_pen_ink(const SrPen* pen, const SrFont* font, const char* text);
/// Draw words on a baseline; returns their width.
double sr_pen_say_on(const SrPen* pen, const SrFont* font, const char* text, double left,
                     double baseline);
/// Draw words centred on a position.
void sr_pen_say_middle(const SrPen* pen, const SrFont* font, const char* text, double middle,
                       double top);
/// Draw a note with its octave as a small figure, centred: "F♯5".
void sr_pen_say_note(const SrPen* pen, const SrFont* font, const char* note, double x, double y);

/**
   Draw a note with its accidental as a small sign above its octave as a small figure, on a
   baseline: nothing reaches above or below its letter.
*/
void sr_pen_say_pitch(const SrPen* pen, const SrFont* font, const char* name, const char* octave,
                      double left, double baseline);
/// Width of the same.
double sr_pen_pitch_width(const SrPen* pen, const SrFont* font, const char* name,
                          const char* octave);

/// Draw a finger as a figure in a ring: 1 is the index, 4 the little finger, T the thumb. `height`
/// is that of the ring, which is as wide.
void sr_pen_finger(const SrPen* pen, SrFinger finger, SrColour colour, double left, double top,
                   double height);

/// Draw the triangle of a direction: upwards for a draw, downwards for a press.
void sr_pen_direction(const SrPen* pen, bool draw, double x, double y, double size);
/// Add the outline of a rectangle with round corners to the path.
void sr_pen_round_path(const SrPen* pen, const SrArea* area, double radius);

#endif // SR_SHOW_PEN_H
