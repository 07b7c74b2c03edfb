// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_picture.h"

#include "draw_stroke.h"

#include <math.h>
#include <stdlib.h>

/// Place a line's box under its heading, its numbers and the words of drawn notes.
static void
place_box(const SrBellowsPicture* const picture, const SrBellowsWay* const way,
          const double per_time, SrBellowsLine* const line)
{
  const SrBellowsRows* const rows = &picture->rows;
  const double whole = sr_bellows_line_height(&line->bars, rows, way->box, picture->phrase);
  const SrArea area = {SR_BELLOWS_LEFT,
                       whole - sr_bellows_lane(&line->bars, rows, false) - way->box,
                       (line->bars.to - line->bars.from) * per_time, way->box};
  line->box.area = area;
  line->box.from = line->bars.from;
  line->box.per_time = per_time;
  line->box.pad = SR_STROKE_MARK * picture->sign_size;
  line->box.low = line->bars.low;
  line->box.high = line->bars.high;
}

SrStatus
sr_bellows_picture_new(const SrPen* const pen, const SrDrawnPhrase* const phrase,
                       const double width, const SrBellowsWay* const way,
                       SrBellowsPicture** const picture)
{
  *picture = NULL;
  SrBellowsPicture* const made = calloc(1, sizeof(SrBellowsPicture));
  SrBellowsSystem* systems = NULL;
  size_t count = 0;
  if (!made || sr_bellows_systems(phrase, way->bars, way->refer, &systems, &count) != SR_OK ||
      !(made->systems = calloc(count + 1, sizeof(SrBellowsLine)))) {
    free(made);
    free(systems);
    return SR_NO_MEMORY;
  }
  made->phrase = phrase;
  made->width = width;
  made->system_count = count;
  made->narrow = way->narrow;
  made->sign_size = 0.55 + 0.5 * way->scale;
  sr_bellows_rows(pen, phrase, way->scale, &made->rows);
  // The same time scale on all lines, so that equal notes are equally long
  const double per_time =
      (width - SR_BELLOWS_LEFT - SR_BELLOWS_RIGHT) / sr_bellows_longest(systems, count);
  for (size_t i = 0; i < count; ++i) {
    made->systems[i].bars = systems[i];
    place_box(made, way, per_time, &made->systems[i]);
  }
  free(systems);
  *picture = made;
  return SR_OK;
}

void
sr_bellows_picture_del(SrBellowsPicture* const picture)
{
  if (picture) {
    free(picture->systems);
    free(picture);
  }
}

size_t
sr_bellows_picture_systems(const SrBellowsPicture* const picture)
{
  return picture->system_count;
}

double
sr_bellows_picture_height(const SrBellowsPicture* const picture, const size_t system)
{
  const SrBellowsLine* const line = &picture->systems[system];
  return sr_bellows_line_height(&line->bars, &picture->rows, line->box.area.height,
                                picture->phrase);
}

bool
sr_bellows_picture_begins(const SrBellowsPicture* const picture, const size_t system)
{
  return picture->systems[system].bars.part != SR_BELLOWS_NONE;
}
