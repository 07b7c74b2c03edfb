// SPDX-License-Identifier: GPL-3.0-or-later

// Where the bars and times of a picture lie, for a pointer or a marker over it.

#include "round_layout.h"

#include <math.h>

/// The line at an index, from the corner of the picture.
static SrRoundLine
line_at(const SrRoundPicture* const picture, const size_t index)
{
  return sr_round_line(picture, NULL, index, 0.0, 0.0);
}

void
sr_round_picture_time(const SrRoundPicture* const picture, const double time, SrRoundBox* const box)
{
  size_t index = 0;
  while (index + 1 < picture->system_count && time >= picture->systems[index].to) {
    ++index;
  }
  const SrRoundLine line = line_at(picture, index);
  const SrArea* const area = &line.box.area;
  const double within = fmax(line.system->from, fmin(line.system->to, time));
  const SrRoundRows* const rows = &picture->rows;
  *box = (SrRoundBox){sr_bellows_x(&line.box, within), area->top - rows->upper, 0.0,
                      rows->upper + area->height + rows->lower};
}

/// Part of a bar on the line at an index; false if it has none.
static bool
find_bar(const SrRoundPicture* const picture, const size_t index, const size_t bar,
         SrRoundBox* const box)
{
  const SrRoundLine line = line_at(picture, index);
  const SrBellowsSystem* const system = line.system;
  const SrDrawnPhrase* const phrase = &picture->content.phrase;
  if (bar < system->first_bar || bar >= system->first_bar + system->bar_count) {
    return false;
  }
  const SrRoundRows* const rows = &picture->rows;
  const double end = bar + 1 < phrase->bar_count ? phrase->bars[bar + 1].start : system->to;
  const double left = sr_bellows_x(&line.box, fmax(system->from, phrase->bars[bar].start));
  const double right = sr_bellows_x(&line.box, fmin(system->to, end));
  *box = (SrRoundBox){left, line.top, right - left,
                      rows->slip + rows->number + rows->upper + line.box.area.height + rows->lower +
                          rows->strip};
  return true;
}

bool
sr_round_picture_bar(const SrRoundPicture* const picture, const size_t bar, SrRoundBox* const box)
{
  bool found = false;
  for (size_t i = 0; i < picture->system_count && !found; ++i) {
    found = find_bar(picture, i, bar, box);
  }
  return found;
}

/// Distance of a number from a stretch.
static double
distance(const double from, const double length, const double number)
{
  return fmax(0.0, fmax(from - number, number - from - length));
}

size_t
sr_round_picture_bar_at(const SrRoundPicture* const picture, const double x, const double y)
{
  size_t nearest = picture->systems[0].first_bar;
  double least = (double)INFINITY;
  for (size_t i = 0; i < picture->system_count; ++i) {
    const SrBellowsSystem* const system = &picture->systems[i];
    for (size_t bar = system->first_bar; bar < system->first_bar + system->bar_count; ++bar) {
      SrRoundBox box;
      if (find_bar(picture, i, bar, &box)) {
        const double away =
            hypot(distance(box.left, box.width, x), distance(box.top, box.height, y));
        nearest = away < least ? bar : nearest;
        least = fmin(least, away);
      }
    }
  }
  return nearest;
}

double
sr_round_picture_letters(const SrRoundPicture* const picture)
{
  return picture->rows.size;
}
