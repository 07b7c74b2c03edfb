// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_rows.h"

#include <math.h>

#define GAP_MM 1.1
#define HEADING_MM 4.2
#define LEAST_HEADING_MM 3.0
#define NUMBER_MM 3.6 ///< Height of the row with the bar numbers
#define LEAST_NUMBER_MM 3.0
#define EMPTY_LANE_MM 4.5
#define BOX_MM 12.0
#define LEAST_BOX_MM 9.0

static size_t
most_sounds(const SrDrawnPhrase* const phrase)
{
  size_t most = 0;
  for (size_t i = 0; i < phrase->stroke_count; ++i) {
    const size_t count = phrase->strokes[i].sound_count;
    most = count > most ? count : most;
  }
  return most;
}

void
sr_bellows_rows(const SrPen* const pen, const SrDrawnPhrase* const phrase, const double scale,
                SrBellowsRows* const rows)
{
  const double mm = SR_POINTS_A_MM;
  const double bold = sr_pen_capital(pen, true);
  const double plain = sr_pen_capital(pen, false);
  rows->scale = scale;
  rows->name = SR_NAME_MM * mm * scale;
  rows->button = SR_BUTTON_MM * mm * scale;
  rows->small = SR_SMALL_MM * mm * scale;
  rows->heading = fmax(LEAST_HEADING_MM, HEADING_MM * fmin(scale, 1.0)) * mm;
  rows->name_size = rows->name / bold;
  rows->button_size = rows->button / plain;
  rows->small_size = rows->small / plain;
  rows->heading_size = rows->heading / bold;
  rows->gap = GAP_MM * mm * scale;
  rows->number = fmax(LEAST_NUMBER_MM, NUMBER_MM * fmin(scale, 1.0)) * mm;
  rows->strip = 1.55 * rows->heading;
  rows->box = fmax(LEAST_BOX_MM, BOX_MM * scale) * mm;
  rows->sounds = most_sounds(phrase);
  const double small_row = SR_RING * rows->small;
  rows->lane = rows->name + rows->button + small_row + 4.0 * rows->gap +
               (double)rows->sounds * (small_row + rows->gap);
  rows->empty_lane = fmin(rows->lane, EMPTY_LANE_MM * mm);
}
