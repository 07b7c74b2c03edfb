// SPDX-License-Identifier: GPL-3.0-or-later

#include "round_layout.h"

#include "bellows_way.h"

#include <steadyreed/page.h>

#include <math.h>
#include <stdlib.h>

// Rows against the size of names
#define LEFT 2.3
#define SLIP 1.15
#define NUMBER 1.0
#define NAMES 1.3
#define BUTTONS 0.8
#define BELLOWS 4.4
/// The same where notes are close together.
#define CLOSE_BELLOWS 2.5
#define PITCHES 5.4
#define STRIP 3.1
#define GAP 0.8
#define PAD 1.15
/// Most that the line itself grows where there is more height.
#define MOST_GROWN 1.8
#define MOST_GROWN_CLOSE 2.6

/// Least width of the shortest usual note.
#define NARROWEST 1.55
/// … where notes are close together.
#define CLOSE 1.2
/// Letters are read well from this size on, without a limit of height.
#define COMFORT 11.0
/// Largest size without a limit of height.
#define USUAL_MOST 18.0
/// Names smaller than this cannot be read.
#define LEAST_NAME 5.0
/// One offset of this number may be beyond the range of the strip.
#define FEW_BEYOND 12u
/// Steps of the search for a size.
#define HALVINGS 30
/// The shortest notes are not counted for the width if they are fewer than this share.
#define FEW 0.1

static bool
has_buttons(const SrRoundContent* const content)
{
  return content->planned && content->phrase.stroke_count && *content->strokes[0].button;
}

/// Rows at a size.
static SrRoundRows
rows_of(const SrRoundPicture* const picture, const double size)
{
  const SrRoundContent* const content = &picture->content;
  const bool names = size >= LEAST_NAME;
  const bool buttons = has_buttons(content) && SR_ROUND_BUTTON * size >= LEAST_NAME;
  const double lane = size * ((names ? NAMES : 0.3) + (buttons ? BUTTONS : 0.0));
  const SrRoundRows rows = {.size = size,
                            .left = LEFT * size,
                            .slip = content->slip_count ? SLIP * size : 0.0,
                            .number = NUMBER * size,
                            .upper = lane,
                            .box = (!content->planned      ? PITCHES
                                    : picture->style.close ? CLOSE_BELLOWS
                                                           : BELLOWS) *
                                   size,
                            .lower = content->planned ? lane : 0.0,
                            .strip = picture->style.no_offsets ? 0.0 : STRIP * size,
                            .gap = GAP * size,
                            .names = names,
                            .buttons = buttons};
  return rows;
}

/// Height of one line.
static double
line_height(const SrRoundRows* const rows)
{
  return rows->slip + rows->number + rows->upper + rows->box + rows->lower + rows->strip;
}

static double
whole_height(const SrRoundRows* const rows, const size_t lines)
{
  return (double)lines * (line_height(rows) + rows->gap) - rows->gap;
}

static int
compare(const void* const left, const void* const right)
{
  const double a = *(const double*)left;
  const double b = *(const double*)right;
  return (a > b) - (a < b);
}

/// Length of the shortest usual notes; 0 without memory.
static double
shortest_note(const SrDrawnPhrase* const phrase)
{
  double* const lengths = malloc((phrase->stroke_count + 1) * sizeof(double));
  if (!lengths) {
    return 0.0;
  }
  for (size_t i = 0; i < phrase->stroke_count; ++i) {
    lengths[i] = phrase->strokes[i].length;
  }
  qsort(lengths, phrase->stroke_count, sizeof(double), compare);
  const double shortest = lengths[(size_t)(FEW * (double)phrase->stroke_count)];
  free(lengths);
  return shortest;
}

/// Largest size at which a number of lines fits a height, at most `most`.
static double
fit_height(const SrRoundPicture* const picture, const size_t lines, const double height,
           const double most)
{
  // Rows come with a size, so the height is no smooth function of it, but an increasing one
  double low = 0.0;
  double high = fmin(most, height);
  const SrRoundRows largest = rows_of(picture, high);
  if (whole_height(&largest, lines) <= height) {
    return high;
  }
  for (int i = 0; i < HALVINGS; ++i) {
    const double middle = (low + high) / 2.0;
    const SrRoundRows rows = rows_of(picture, middle);
    if (whole_height(&rows, lines) <= height) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return low;
}

/// Lines of some bars, and the size they allow.
typedef struct {
  SrBellowsSystem* systems;
  size_t count;
  double longest; ///< Time of the longest
  double size;
} Way;

static SrStatus
try_way(const SrRoundPicture* const picture, const size_t bars, const double shortest,
        const double height, Way* const way)
{
  const SrStatus status = sr_bellows_systems(&picture->content.phrase, bars, SR_REFER_REPEATS,
                                             &way->systems, &way->count);
  if (status != SR_OK) {
    return status;
  }
  const double wanted = picture->style.most_size;
  const double most = wanted > 0.0 ? wanted : isfinite(height) ? (double)INFINITY : USUAL_MOST;
  way->longest = sr_bellows_longest(way->systems, way->count);
  const double narrowest = picture->style.close ? CLOSE : NARROWEST;
  way->size = fmin(most, picture->width / (LEFT + narrowest * way->longest / shortest));
  if (isfinite(height)) {
    way->size = fit_height(picture, way->count, height, way->size);
  }
  return SR_OK;
}

/// Whether a way with more bars on a line is to be preferred.
static bool
is_better(const Way* const way, const Way* const best, const double height)
{
  return isfinite(height) ? way->size > 1.02 * best->size
                          : way->size >= COMFORT && way->count < best->count;
}

/// Give the line itself what height is left.
static void
grow_box(SrRoundPicture* const picture, const double height)
{
  SrRoundRows* const rows = &picture->rows;
  const double left = height - whole_height(rows, picture->system_count);
  if (isfinite(height) && left > 0.0) {
    const double most = (picture->style.close ? MOST_GROWN_CLOSE : MOST_GROWN) * rows->box;
    rows->box += fmin(most - rows->box, left / (double)picture->system_count);
  }
}

/// Number of offsets beyond a range, and of all.
static size_t
count_beyond(const SrRoundContent* const content, const double range_ms, size_t* const all)
{
  size_t beyond = 0;
  *all = 0;
  for (size_t i = 0; i < content->phrase.stroke_count; ++i) {
    const double offset = fabs(content->notes[i].offset_ms);
    *all += isfinite(offset) ? 1 : 0;
    beyond += isfinite(offset) && offset > range_ms ? 1 : 0;
  }
  return beyond;
}

/// The range of the strip: the least of a few round numbers that only few offsets are beyond.
static double
range_of(const SrRoundContent* const content)
{
  static const double RANGES[] = {30.0, 50.0, 80.0, 120.0, 200.0};
  size_t i = 0;
  size_t all = 0;
  while (i + 1 < sizeof(RANGES) / sizeof(RANGES[0]) &&
         count_beyond(content, RANGES[i], &all) > all / FEW_BEYOND) {
    ++i;
  }
  return RANGES[i];
}

/// Lay a picture out in a way, which it then holds.
static void
take_way(SrRoundPicture* const picture, const Way* const way)
{
  picture->systems = way->systems;
  picture->system_count = way->count;
  picture->rows = rows_of(picture, way->size);
  picture->per_time = (picture->width - picture->rows.left) / way->longest;
  picture->range_ms = range_of(&picture->content);
}

SrStatus
sr_round_layout(SrRoundPicture* const picture, const double height)
{
  const double shortest = shortest_note(&picture->content.phrase);
  if (!(shortest > 0.0)) {
    return SR_NO_MEMORY;
  }
  Way best = {0};
  for (size_t bars = 1; bars <= SR_PAGE_MOST_BARS_A_LINE; ++bars) {
    Way way = {0};
    const SrStatus status = try_way(picture, bars, shortest, height, &way);
    if (status != SR_OK) {
      free(best.systems);
      return status;
    }
    if (best.systems && !is_better(&way, &best, height)) {
      free(way.systems);
      continue;
    }
    free(best.systems);
    best = way;
  }
  take_way(picture, &best);
  grow_box(picture, height);
  return SR_OK;
}

SrStatus
sr_round_layout_lines(SrRoundPicture* const picture, const size_t bars_a_line, const double size)
{
  const double shortest = shortest_note(&picture->content.phrase);
  if (!(shortest > 0.0)) {
    return SR_NO_MEMORY;
  }
  const double wanted = picture->style.most_size;
  Way way = {0};
  picture->style.most_size = size;
  const SrStatus status = try_way(picture, bars_a_line, shortest, (double)INFINITY, &way);
  picture->style.most_size = wanted;
  if (status == SR_OK) {
    free(picture->systems);
    take_way(picture, &way);
  }
  return status;
}

double
sr_round_line_height(const SrRoundPicture* const picture)
{
  return line_height(&picture->rows);
}

double
sr_round_picture_height(const SrRoundPicture* const picture)
{
  return whole_height(&picture->rows, picture->system_count);
}

SrRoundLine
sr_round_line(const SrRoundPicture* const picture, const SrPen* const pen, const size_t index,
              const double left, const double top)
{
  const SrRoundRows* const rows = &picture->rows;
  const SrBellowsSystem* const system = &picture->systems[index];
  SrRoundLine line = {.picture = picture, .pen = pen, .system = system};
  line.top = top + (double)index * (line_height(rows) + rows->gap);
  const SrArea area = {left + rows->left, line.top + rows->slip + rows->number + rows->upper,
                       (system->to - system->from) * picture->per_time, rows->box};
  line.box = (SrBellowsBox){.area = area,
                            .pad = PAD * rows->size,
                            .low = system->low,
                            .high = system->high,
                            .from = system->from,
                            .per_time = picture->per_time};
  return line;
}
