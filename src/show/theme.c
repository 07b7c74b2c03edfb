// SPDX-License-Identifier: GPL-3.0-or-later

#include "theme.h"

static SrTheme
light(void)
{
  const SrTheme theme = {
      .paper = SR_COLOUR_PAPER,
      .ink = SR_COLOUR_INK,
      .soft = SR_COLOUR_SOFT_INK,
      .line = SR_COLOUR_LINE,
      .shade = SR_COLOUR_SHADE,
      .band = {0.86, 0.89, 0.87},
      .draw = SR_COLOUR_DRAW,
      .press = SR_COLOUR_PRESS,
      .press_edge = SR_COLOUR_INK,
      .plain = {0.47, 0.50, 0.53},
      .on_draw = SR_COLOUR_PAPER,
      .draw_lane = SR_COLOUR_DRAW_LANE,
      .press_lane = SR_COLOUR_PRESS_LANE,
      .air = SR_COLOUR_AIR,
      .fault = SR_COLOUR_FAULT,
  };
  return theme;
}

static SrTheme
dark(void)
{
  const SrTheme theme = {
      .paper = {0.090, 0.090, 0.102},
      .ink = {0.96, 0.96, 0.95},
      .soft = {0.76, 0.76, 0.77},
      .line = {0.45, 0.45, 0.47},
      .shade = {0.19, 0.19, 0.21},
      .band = {0.22, 0.27, 0.25},
      .draw = {0.337, 0.706, 0.914}, // sky blue, #56B4E9
      .press = SR_COLOUR_PRESS,
      .press_edge = SR_COLOUR_PRESS,
      .plain = {0.66, 0.69, 0.72},
      .on_draw = SR_COLOUR_INK,
      .draw_lane = {0.10, 0.145, 0.185},
      .press_lane = {0.18, 0.145, 0.075},
      .air = {0.0, 0.70, 0.52},
      .fault = SR_COLOUR_FAULT,
  };
  return theme;
}

SrTheme
sr_theme(const bool is_dark)
{
  return is_dark ? dark() : light();
}
