// SPDX-License-Identifier: GPL-3.0-or-later

// A round laid out on lines: made by sr_round_picture_new(), read by the drawing functions. All
// sizes follow from one, that of the notes' names.

#ifndef SR_SHOW_ROUND_LAYOUT_H
#define SR_SHOW_ROUND_LAYOUT_H

#include "bellows_geometry.h"
#include "round_content.h"
#include "theme.h"

/// Rows of a line, from its top, at one size of letters.
typedef struct {
  double size;   ///< Of the font of names
  double left;   ///< Width of the words on the left
  double slip;   ///< Height of the row of breaks in the flow
  double number; ///< ... of bar numbers
  double upper;  ///< ... of the names of drawn notes, or of all without a plan
  double box;    ///< ... of the line itself
  double lower;  ///< ... of the names of pressed notes
  double strip;  ///< ... of the offsets, with the gap above them
  double gap;    ///< Between two lines
  bool names;    ///< There is room for names
  bool buttons;  ///< ... and for the names of buttons
} SrRoundRows;

struct SrRoundPictureImpl {
  SrRoundContent content;
  SrRoundStyle style;
  SrTheme theme;
  SrBellowsSystem* systems;
  size_t system_count;
  SrRoundRows rows;
  double width;
  double per_time; ///< Width of a whole note
  double range_ms; ///< Largest offset that the strip shows
};

/// A line of a picture where it is drawn.
typedef struct {
  const SrRoundPicture* picture;
  const SrPen* pen;
  const SrBellowsSystem* system;
  SrBellowsBox box;
  double top; ///< Of its first row
} SrRoundLine;

/// Break the round into lines and choose its size. `height` may be INFINITY.
SrStatus sr_round_layout(SrRoundPicture* picture, double height);
/// Break it into lines of `bars_a_line` bars, with letters of `size` or as large as its width
/// allows; its height follows.
SrStatus sr_round_layout_lines(SrRoundPicture* picture, size_t bars_a_line, double size);
/// Height of each line.
double sr_round_line_height(const SrRoundPicture* picture);
/// The line at an index, drawn with the picture's corner at a position.
SrRoundLine sr_round_line(const SrRoundPicture* picture, const SrPen* pen, size_t index,
                          double left, double top);
/// Draw one line.
void sr_round_draw_line(const SrRoundLine* line);
/// Draw the picture.
void sr_round_draw(const SrRoundPicture* picture, const SrPen* pen, double left, double top);

/// Half of the thickness of a note, at a size of letters.
#define SR_ROUND_HALF 0.36

/// Size of buttons' names, at a size of letters.
#define SR_ROUND_BUTTON 0.54

/// Draw the notes of a line and their signs.
void sr_draw_seen_notes(const SrRoundLine* line);
/// Draw the breaks in the flow of a line.
void sr_draw_slips(const SrRoundLine* line);
/// Draw the strip of offsets of a line.
void sr_draw_offsets(const SrRoundLine* line);

/// Draw the key of the signs that a picture uses, or another beside it unless that is NULL, in rows
/// of a width; returns its height. Only measured unless `draw`.
double sr_draw_round_key(const SrRoundPicture* picture, const SrRoundPicture* other,
                         const SrPen* pen, const SrArea* area, double size, bool draw);

#endif // SR_SHOW_ROUND_LAYOUT_H
