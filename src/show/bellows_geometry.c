// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_geometry.h"

#include <math.h>
#include <stdlib.h>

/// Times that differ by less are equal: whole notes and their parts are far larger.
#define SAME 1e-9
/// Least share of the bellows that a line shows.
#define LEAST_SPAN 0.15

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
  for (size_t i = first; i < end; ++i) {
    system->draws = system->draws || phrase->strokes[i].draw;
    system->presses = system->presses || !phrase->strokes[i].draw;
  }
}

/// End of a bar as drawn: the start of the next.
static double
bar_end(const SrDrawnPhrase* const phrase, const size_t bar)
{
  return bar + 1 < phrase->bar_count ? phrase->bars[bar + 1].start
                                     : phrase->bars[bar].start + phrase->bars[bar].length;
}

/// Number of bars from this one on that are only named.
static size_t
bars_alike(const SrDrawnPhrase* const phrase, const SrDrawnPart* const part, const SrRefer refer,
           const size_t bar)
{
  const SrDrawnBar* const bars = phrase->bars;
  const size_t end = part->first_bar + part->bar_count;
  if (bar >= end || bars[bar].like == SR_DRAWN_LIKE_NONE) {
    return 0;
  }
  size_t count = 1;
  while (bar + count < end && bars[bar + count].like == bars[bar].like + count) {
    ++count;
  }
  const bool again = bars[bars[bar].like].number == bars[bar].number;
  const bool near = again || bars[bar].like >= part->first_bar;
  const bool named = refer == SR_REFER_ALL       ? count > 1 || near
                     : refer == SR_REFER_SEVERAL ? count > 1
                                                 : count > 2 && again;
  return named ? count : 0;
}

/// Lines while they are being made.
typedef struct {
  const SrDrawnPhrase* phrase;
  size_t bars_a_line;
  double most; ///< Most time on a line
  SrRefer refer;
  SrBellowsSystem* systems;
  size_t count;
  size_t room;
} Lines;

/// One line starting at `from` in `*bar`, which is moved on to the bar where the next line starts.
static SrBellowsSystem
next_system(const Lines* const lines, const SrDrawnPart* const part, const double from,
            size_t* const bar)
{
  const SrDrawnPhrase* const phrase = lines->phrase;
  const size_t end = part->first_bar + part->bar_count;
  SrBellowsSystem system = {.from = from,
                            .to = from,
                            .first_bar = *bar,
                            .part = SR_BELLOWS_NONE,
                            .like = SR_BELLOWS_NONE};
  const size_t alike = bars_alike(phrase, part, lines->refer, *bar);
  if (alike) {
    system.like = phrase->bars[*bar].like;
    system.bar_count = alike;
    *bar += alike;
    system.to = bar_end(phrase, *bar - 1);
    return system;
  }
  size_t whole = 0;
  while (*bar < end && whole < lines->bars_a_line &&
         !bars_alike(phrase, part, lines->refer, *bar)) {
    const double bar_ends = bar_end(phrase, *bar);
    if (bar_ends > from + lines->most + SAME) {
      if (system.bar_count) {
        return system; // it goes on the next line
      }
      system.to = break_inside(phrase, from, from + lines->most);
      system.bar_count = 1;
      return system;
    }
    whole += phrase->bars[*bar].number > 0;
    system.to = bar_ends;
    ++system.bar_count;
    ++*bar;
  }
  return system;
}

static SrStatus
add_system(Lines* const lines, const SrBellowsSystem* const system)
{
  if (lines->count == lines->room) {
    const size_t room = lines->room ? 2 * lines->room : 16;
    SrBellowsSystem* const larger = realloc(lines->systems, room * sizeof(SrBellowsSystem));
    if (!larger) {
      return SR_NO_MEMORY;
    }
    lines->systems = larger;
    lines->room = room;
  }
  lines->systems[lines->count++] = *system;
  return SR_OK;
}

static SrStatus
break_part(Lines* const lines, const size_t index)
{
  const SrDrawnPart* const part = &lines->phrase->parts[index];
  size_t bar = part->first_bar;
  double from = lines->phrase->bars[bar].start;
  for (bool first = true; bar < part->first_bar + part->bar_count; first = false) {
    SrBellowsSystem system = next_system(lines, part, from, &bar);
    if (system.like == SR_BELLOWS_NONE) {
      find_strokes(lines->phrase, &system);
    }
    system.part = first ? index : SR_BELLOWS_NONE;
    from = system.to;
    const SrStatus status = add_system(lines, &system);
    if (status != SR_OK) {
      return status;
    }
  }
  return SR_OK;
}

/// The room that the notes of a line use, with an end of the bellows that is near.
static void
find_room(const SrDrawnPhrase* const phrase, SrBellowsSystem* const system)
{
  system->low = 1.0;
  system->high = 0.0;
  for (size_t i = 0; i < system->stroke_count; ++i) {
    const SrDrawnStroke* const stroke = &phrase->strokes[system->first_stroke + i];
    system->low = fmin(system->low, fmin(stroke->before, stroke->after));
    system->high = fmax(system->high, fmax(stroke->before, stroke->after));
  }
  if (!system->stroke_count) {
    system->low = system->high = 0.5;
  }
  system->low = system->low <= SR_LOW_ROOM ? 0.0 : system->low;
  system->high = system->high >= 1.0 - SR_LOW_ROOM ? 1.0 : system->high;
}

/// Give all lines equally much of the bellows.
static void
zoom(const SrDrawnPhrase* const phrase, SrBellowsSystem* const systems, const size_t count)
{
  double span = LEAST_SPAN;
  for (size_t i = 0; i < count; ++i) {
    find_room(phrase, &systems[i]);
    span = fmax(span, systems[i].high - systems[i].low);
  }
  for (size_t i = 0; i < count; ++i) {
    SrBellowsSystem* const system = &systems[i];
    const double middle = (system->low + system->high - span) / 2.0;
    const double low = system->low <= 0.0 ? 0.0 : system->high >= 1.0 ? 1.0 - span : middle;
    system->low = fmin(fmax(low, 0.0), 1.0 - span);
    system->high = system->low + span;
  }
}

SrStatus
sr_bellows_systems(const SrDrawnPhrase* const phrase, const size_t bars_a_line, const SrRefer refer,
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
  Lines lines = {.phrase = phrase,
                 .bars_a_line = bars_a_line,
                 .most = usual * ((double)bars_a_line + 0.75),
                 .refer = refer};
  for (size_t i = 0; i < phrase->part_count; ++i) {
    const SrStatus status = break_part(&lines, i);
    if (status != SR_OK) {
      free(lines.systems);
      return status;
    }
  }
  zoom(phrase, lines.systems, lines.count);
  *systems = lines.systems;
  *count = lines.count;
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
  const double inside = fmin(fmax(opening, box->low), box->high);
  const double share = (box->high - inside) / (box->high - box->low);
  return box->area.top + box->pad + share * (box->area.height - 2.0 * box->pad);
}

bool
sr_bellows_beat(const SrDrawnBar* const bar, const size_t index, double* const time)
{
  const double end = bar->start + bar->length;
  if (bar->pulse <= 0.0) {
    return false;
  }
  const double first =
      bar->number > 0 ? bar->start : end - bar->pulse * floor(bar->length / bar->pulse + SAME);
  *time = first + (double)index * bar->pulse;
  return *time < end - SAME;
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
