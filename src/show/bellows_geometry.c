// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_geometry.h"

#include <stdlib.h>

/// Times that differ by less are equal: whole notes and their parts are far larger.
#define SAME 1e-9

static int
compare(const void* const left, const void* const right)
{
  const double a = *(const double*)left;
  const double b = *(const double*)right;
  return (a > b) - (a < b);
}

/**
   A bar with more notes than this many of the usual length has missing bar lines; it is broken into
   stretches of this many notes.
*/
#define NOTES_WITHOUT_METER 33.0
#define NOTES_INSTEAD 8.0

static double
median(double* const lengths, const size_t count)
{
  qsort(lengths, count, sizeof(double), compare);
  return lengths[count / 2];
}

/// Median length of the whole bars, or of the first bar if there are none. If bar lines are
/// missing, so that a bar holds far too many notes, the length of a few notes instead.
static double
usual_bar(const SrDrawnPhrase* const phrase, double* const lengths)
{
  size_t count = 0;
  for (size_t i = 0; i < phrase->bar_count; ++i) {
    if (phrase->bars[i].number > 0) {
      lengths[count++] = phrase->bars[i].length;
    }
  }
  if (!count) {
    lengths[count++] = phrase->bars[0].length;
  }
  const double bar = median(lengths, count);
  if (!phrase->stroke_count) {
    return bar;
  }
  for (size_t i = 0; i < phrase->stroke_count; ++i) {
    lengths[i] = phrase->strokes[i].length;
  }
  const double note = median(lengths, phrase->stroke_count);
  return bar > NOTES_WITHOUT_METER * note ? NOTES_INSTEAD * note : bar;
}

/// Where to break a bar too long for a line: before the last note that begins by `latest`, or at
/// `latest` if none does.
static double
break_inside(const SrDrawnPhrase* const phrase, const double from, const double latest)
{
  double best = latest;
  bool found = false;
  for (size_t i = 0; i < phrase->stroke_count; ++i) {
    const double start = phrase->strokes[i].start;
    if (start > latest + SAME) {
      break;
    }
    if (start > from + SAME) {
      best = start;
      found = true;
    }
  }
  return found ? best : latest;
}

/// Find the strokes with a part between the two times of a system.
static void
find_strokes(const SrDrawnPhrase* const phrase, SrBellowsSystem* const system)
{
  size_t first = 0;
  while (first < phrase->stroke_count &&
         phrase->strokes[first].start + phrase->strokes[first].length <= system->from + SAME) {
    ++first;
  }
  size_t end = first;
  while (end < phrase->stroke_count && phrase->strokes[end].start < system->to - SAME) {
    ++end;
  }
  system->first_stroke = first;
  system->stroke_count = end - first;
}

/// End of a bar as drawn: the start of the next.
static double
bar_end(const SrDrawnPhrase* const phrase, const size_t bar)
{
  return bar + 1 < phrase->bar_count ? phrase->bars[bar + 1].start
                                     : phrase->bars[bar].start + phrase->bars[bar].length;
}

/// One line starting at `from` in `*bar`, which is moved on to the bar where the next line starts.
static SrBellowsSystem
next_system(const SrDrawnPhrase* const phrase, const double from, const size_t bars_a_line,
            const double most, size_t* const bar)
{
  SrBellowsSystem system = {.from = from, .to = from, .first_bar = *bar};
  size_t whole = 0;
  while (*bar < phrase->bar_count && whole < bars_a_line) {
    const double end = bar_end(phrase, *bar);
    if (end > from + most + SAME) {
      if (system.bar_count) {
        return system; // it goes on the next line
      }
      system.to = break_inside(phrase, from, from + most);
      system.bar_count = 1;
      return system;
    }
    whole += phrase->bars[*bar].number > 0;
    system.to = end;
    ++system.bar_count;
    ++*bar;
  }
  return system;
}

SrStatus
sr_bellows_systems(const SrDrawnPhrase* const phrase, const size_t bars_a_line,
                   SrBellowsSystem** const systems, size_t* const count)
{
  *systems = NULL;
  *count = 0;
  double* const lengths = malloc((phrase->bar_count + phrase->stroke_count + 1) * sizeof(double));
  if (!lengths) {
    return SR_NO_MEMORY;
  }
  const double usual = usual_bar(phrase, lengths);
  free(lengths);
  // Room for a pickup besides the bars; a bar half as long again as the others is not broken
  const double most = usual * ((double)bars_a_line + 0.75);

  size_t room = 0;
  size_t bar = 0;
  double from = phrase->bars[0].start;
  while (bar < phrase->bar_count) {
    if (*count == room) {
      room = room ? 2 * room : 16;
      SrBellowsSystem* const larger = realloc(*systems, room * sizeof(SrBellowsSystem));
      if (!larger) {
        free(*systems);
        *systems = NULL;
        *count = 0;
        return SR_NO_MEMORY;
      }
      *systems = larger;
    }
    SrBellowsSystem* const system = &(*systems)[*count];
    *system = next_system(phrase, from, bars_a_line, most, &bar);
    find_strokes(phrase, system);
    from = system->to;
    ++*count;
  }
  return SR_OK;
}

double
sr_bellows_x(const SrBellowsBox* const box, const double time)
{
  return box->area.left + (time - box->from) * box->per_time;
}

double
sr_bellows_y(const SrBellowsBox* const box, const double opening)
{
  const double inside = opening < 0.0 ? 0.0 : opening > 1.0 ? 1.0 : opening;
  return box->area.top + box->pad + (1.0 - inside) * (box->area.height - 2.0 * box->pad);
}

bool
sr_bellows_piece(const SrBellowsBox* const box, const SrDrawnStroke* const stroke,
                 const double from, const double to, SrBellowsPiece* const piece)
{
  const double end = stroke->start + stroke->length;
  const double first = stroke->start > from ? stroke->start : from;
  const double last = end < to ? end : to;
  if (last <= first + SAME) {
    return false;
  }
  const double slope = (stroke->after - stroke->before) / stroke->length;
  piece->x0 = sr_bellows_x(box, first);
  piece->x1 = sr_bellows_x(box, last);
  piece->y0 = sr_bellows_y(box, stroke->before + slope * (first - stroke->start));
  piece->y1 = sr_bellows_y(box, stroke->before + slope * (last - stroke->start));
  piece->begins = stroke->start >= from - SAME;
  piece->ends = end <= to + SAME;
  return true;
}
