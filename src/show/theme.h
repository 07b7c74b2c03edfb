// SPDX-License-Identifier: GPL-3.0-or-later

// The colours of pictures of what was played, on white paper or on a dark screen. Press, draw and
// faults are of the palette in pen.h, which stays distinct for colour-blind eyes; on dark, draw is
// its sky blue.

#ifndef SR_SHOW_THEME_H
#define SR_SHOW_THEME_H

#include "pen.h"

typedef struct {
  SrColour paper;
  SrColour ink;
  SrColour soft;       ///< Less important words, at least 7 : 1 against the paper
  SrColour line;       ///< Auxiliary lines
  SrColour shade;      ///< Low room, and wrong notes
  SrColour band;       ///< What is just noticeable
  SrColour draw;       ///< Notes on a draw
  SrColour press;      ///< Notes on a press
  SrColour press_edge; ///< Their thin edge: on white paper their orange alone would be too faint
  SrColour plain;      ///< Notes without a plan
  SrColour on_draw;    ///< Signs on a drawn note
  SrColour draw_lane;  ///< Behind drawn notes' words
  SrColour press_lane; ///< Behind pressed notes' words
  SrColour air;        ///< Air that was not heard
  SrColour fault;      ///< All faults
} SrTheme;

/// The colours on white paper, or on dark.
SrTheme sr_theme(bool is_dark);

#endif // SR_SHOW_THEME_H
