// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_picture.h"

#include "draw_stroke.h"
#include "label_place.h"

#include <math.h>
#include <stdlib.h>

#define NUMBER_ROOM 11.0 ///< For bar numbers, above all words of a line
#define CLEAR 2.6        ///< Between the line's marks and words
#define SHADE_STEP 5.0   ///< Step between positions tried for the words in the shaded part
#define THREAD 6.0       ///< Words moved further than this get a thread to their note

/// Width of a note's words.
static double
label_width(const SrPen* const pen, const SrDrawnStroke* const stroke, const double scale)
{
  SrArea area = {0};
  sr_bellows_words_measure(pen, stroke, SR_WORDS_NOTE, scale, &area);
  return area.width;
}

/// The longest time on a line.
static double
longest(const SrBellowsSystem* const systems, const size_t count)
{
  double most = 0.0;
  for (size_t i = 0; i < count; ++i) {
    most = fmax(most, systems[i].to - systems[i].from);
  }
  return most;
}

/// Share of the notes that are at least as wide as their words.
static double
share_that_fits(const SrDrawnPhrase* const phrase, const double* const widths, const double scale,
                const double per_time)
{
  size_t fits = 0;
  for (size_t i = 0; i < phrase->stroke_count; ++i) {
    fits += widths[i] * scale + 1.6 <= phrase->strokes[i].length * per_time;
  }
  return phrase->stroke_count ? (double)fits / (double)phrase->stroke_count : 1.0;
}

/// Height of a box for a size of letters.
static double
box_height(const double scale)
{
  return SR_BELLOWS_HEIGHT * (scale > 1.0 ? 0.5 + 0.5 * scale : 1.0);
}

/// Approximate height of some lines with their words.
static double
about_height(const size_t lines, const double scale)
{
  return (double)lines * (box_height(scale) + NUMBER_ROOM + 44.0 * scale);
}

/// A way to break a phrase.
typedef struct {
  size_t bars;
  double scale;
} Way;

// Largest letters first; those over 1.0 only if all lines fit into the height
static const Way WAYS[] = {{2, 1.8},  {3, 1.8},  {4, 1.8}, {2, 1.5},  {3, 1.5}, {4, 1.5}, {2, 1.25},
                           {3, 1.25}, {4, 1.25}, {4, 1.0}, {3, 1.0},  {2, 1.0}, {4, 0.9}, {3, 0.9},
                           {2, 0.9},  {2, 0.8},  {1, 1.0}, {1, 0.85}, {1, 0.7}};
#define WAY_COUNT (sizeof(WAYS) / sizeof(WAYS[0]))

/**
   Break into lines; unless the number of bars is given, as many on each as keep words at their
   notes.
*/
static SrStatus
choose_systems(const SrBellowsPicture* const picture, const double* const widths,
               const double height, const size_t bars_a_line, SrBellowsSystem** const systems,
               size_t* const count, double* const scale)
{
  const double width = picture->width - SR_BELLOWS_LEFT - SR_BELLOWS_RIGHT;
  for (size_t i = 0; i < WAY_COUNT; ++i) {
    const Way* const way = &WAYS[i];
    const bool last = i + 1 == WAY_COUNT;
    if (bars_a_line && way->bars != 2 && !last) {
      continue; // the number is given: only vary the size
    }
    const SrStatus status =
        sr_bellows_systems(picture->phrase, bars_a_line ? bars_a_line : way->bars, systems, count);
    if (status != SR_OK) {
      return status;
    }
    *scale = way->scale;
    const double per_time = width / longest(*systems, *count);
    if (last || (share_that_fits(picture->phrase, widths, *scale, per_time) >= 0.9 &&
                 (way->scale <= 1.0 || about_height(*count, *scale) <= height))) {
      break;
    }
    free(*systems);
  }
  return SR_OK;
}

/// Add words to a line.
static void
add_label(const SrBellowsPicture* const picture, const SrPen* const pen,
          SrBellowsLine* const system, SrLabelField* const field, const size_t index,
          const SrWordsKind kind, const double x, const bool above)
{
  const SrDrawnStroke* const stroke = &picture->phrase->strokes[index];
  SrBellowsLabel* const label = &system->labels[system->label_count++];
  SrArea area = {0};
  sr_bellows_words_measure(pen, stroke, kind, picture->scale, &area);
  double moved = 0.0;
  label->area = sr_label_place(field, x, area.width, area.height, above, &moved);
  label->stroke = index;
  label->kind = kind;
  label->thread = moved > THREAD;
}

/// Place all words of a line.
static void
place_labels(const SrBellowsPicture* const picture, const SrPen* const pen,
             SrBellowsLine* const system, const SrBellowsPiece* const pieces,
             SrLabelField* const field)
{
  const size_t first = system->bars.first_stroke;
  const size_t count = system->bars.stroke_count;
  for (size_t i = 0; i < count; ++i) {
    const SrDrawnStroke* const stroke = &picture->phrase->strokes[first + i];
    add_label(picture, pen, system, field, first + i,
              pieces[i].begins ? SR_WORDS_NOTE : SR_WORDS_GOES_ON, pieces[i].x0 + 1.8,
              stroke->draw);
  }
  for (size_t i = 0; i < count; ++i) {
    const SrDrawnStroke* const stroke = &picture->phrase->strokes[first + i];
    if (pieces[i].begins && stroke->cut != SR_DRAWN_NO_CUT) {
      add_label(picture, pen, system, field, first + i, SR_WORDS_CUT, pieces[i].x0 + 1.8,
                !stroke->draw);
    }
    if (pieces[i].begins && stroke->air) {
      SrArea area = {0};
      sr_bellows_words_measure(pen, stroke, SR_WORDS_AIR, picture->scale, &area);
      const double x = fmax(pieces[i].x0, (pieces[i].x0 + pieces[i].x1 - area.width) / 2.0);
      add_label(picture, pen, system, field, first + i, SR_WORDS_AIR, x, !stroke->draw);
    }
  }
}

/// Whether there is a bar line in a stretch of a line.
static bool
crosses_bar_line(const SrBellowsPicture* const picture, const SrBellowsLine* const system,
                 const SrArea* const area)
{
  for (size_t i = 0; i < system->bars.bar_count; ++i) {
    const SrDrawnBar* const bar = &picture->phrase->bars[system->bars.first_bar + i];
    const double x = sr_bellows_x(&system->box, bar->start);
    if (x > area->left - 2.0 && x < area->left + area->width + 2.0) {
      return true;
    }
  }
  return false;
}

/// Choose where the words for the shaded parts go.
static void
place_shade_words(const SrBellowsPicture* const picture, const SrLabelField* const field,
                  SrBellowsLine* const system)
{
  const SrArea* const box = &system->box.area;
  const SrFont font = sr_shade_font();
  const double height = sr_pen_height(&font);
  const double middles[2] = {sr_bellows_y(&system->box, SR_LOW_ROOM / 2.0),
                             sr_bellows_y(&system->box, 1.0 - SR_LOW_ROOM / 2.0)};
  for (int side = 0; side < 2; ++side) {
    const double room = box->width - 8.0 - picture->shade_width;
    const int steps = room > 0.0 ? (int)(room / SHADE_STEP) : 0;
    for (int step = 0; step < steps; ++step) {
      const double x = box->left + 5.0 + step * SHADE_STEP;
      const SrArea area = {x, middles[side] - height / 2.0, picture->shade_width, height};
      if (sr_label_is_free(field, &area) && !crosses_bar_line(picture, system, &area)) {
        system->shade_words = area;
        return;
      }
    }
  }
}

static SrStatus
lay_out(const SrBellowsPicture* const picture, const SrPen* const pen, SrBellowsLine* const system)
{
  const size_t count = system->bars.stroke_count;
  const size_t first = system->bars.first_stroke;
  const size_t room = 3 * count + system->bars.bar_count + 3;
  SrBellowsPiece* const pieces = calloc(count + 1, sizeof(SrBellowsPiece));
  SrArea* const taken = calloc(room, sizeof(SrArea));
  system->labels = calloc(3 * count + 1, sizeof(SrBellowsLabel));
  if (!pieces || !taken || !system->labels) {
    free(pieces);
    free(taken);
    return SR_NO_MEMORY;
  }
  for (size_t i = 0; i < count; ++i) {
    (void)sr_bellows_piece(&system->box, &picture->phrase->strokes[first + i], system->bars.from,
                           system->bars.to, &pieces[i]);
  }
  const SrArea* const box = &system->box.area;
  SrLabelField field = {.pieces = pieces,
                        .piece_count = count,
                        .half = picture->sign_size * SR_STROKE_MARK + CLEAR,
                        .left = box->left,
                        .right = box->left + box->width - 1.5,
                        .taken = taken,
                        .room = room};
  // Keep words off the ceiling and the floor
  const SrArea ceiling = {box->left, 0.0, box->width, 0.5};
  const SrArea floor_line = {box->left, box->height, box->width, 0.5};
  sr_label_take(&field, &ceiling);
  sr_label_take(&field, &floor_line);
  place_labels(picture, pen, system, pieces, &field);
  double top = 0.0;
  double bottom = box->height;
  for (size_t i = 0; i < system->label_count; ++i) {
    const SrArea* const area = &system->labels[i].area;
    top = fmin(top, area->top);
    bottom = fmax(bottom, area->top + area->height);
  }
  system->over = NUMBER_ROOM - top;
  system->under = bottom - box->height + 2.0;
  place_shade_words(picture, &field, system);
  free(pieces);
  free(taken);
  return SR_OK;
}

SrStatus
sr_bellows_picture_new(const SrPen* const pen, const SrDrawnPhrase* const phrase,
                       const double width, const double height, const size_t bars_a_line,
                       SrBellowsPicture** const picture)
{
  *picture = NULL;
  SrBellowsPicture* const made = calloc(1, sizeof(SrBellowsPicture));
  if (!made) {
    return SR_NO_MEMORY;
  }
  made->phrase = phrase;
  made->width = width;
  const SrFont font = sr_shade_font();
  made->shade_width = sr_pen_width(pen, &font, SR_SHADE_WORDS);
  double* const widths = calloc(phrase->stroke_count + 1, sizeof(double));
  if (!widths) {
    free(made);
    return SR_NO_MEMORY;
  }
  for (size_t i = 0; i < phrase->stroke_count; ++i) {
    widths[i] = label_width(pen, &phrase->strokes[i], 1.0);
  }
  SrBellowsSystem* systems = NULL;
  SrStatus status = choose_systems(made, widths, height, bars_a_line, &systems, &made->system_count,
                                   &made->scale);
  free(widths);
  made->systems = status == SR_OK ? calloc(made->system_count + 1, sizeof(SrBellowsLine)) : NULL;
  if (!made->systems) {
    free(systems);
    free(made);
    return SR_NO_MEMORY;
  }
  made->sign_size = fmax(1.0, 0.4 + 0.6 * made->scale);
  // Spare room makes the boxes taller, but not all of it, since words may be placed high
  const double spare = height - about_height(made->system_count, made->scale);
  const double box = box_height(made->scale);
  made->box_height = box + fmin(0.4 * box, fmax(0.0, 0.7 * spare / (double)made->system_count));
  const double room = width - SR_BELLOWS_LEFT - SR_BELLOWS_RIGHT;
  // The same time scale on all lines, so that equal notes are equally long
  const double per_time = room / longest(systems, made->system_count);
  for (size_t i = 0; i < made->system_count && status == SR_OK; ++i) {
    SrBellowsLine* const system = &made->systems[i];
    system->bars = systems[i];
    system->box.from = systems[i].from;
    system->box.per_time = per_time;
    system->box.area.left = SR_BELLOWS_LEFT;
    system->box.area.width = (systems[i].to - systems[i].from) * per_time;
    system->box.area.height = made->box_height;
    system->box.pad = SR_STROKE_HALF * made->sign_size + 1.0;
    status = lay_out(made, pen, system);
  }
  free(systems);
  if (status != SR_OK) {
    sr_bellows_picture_del(made);
    return status;
  }
  *picture = made;
  return SR_OK;
}

void
sr_bellows_picture_del(SrBellowsPicture* const picture)
{
  if (!picture) {
    return;
  }
  for (size_t i = 0; i < picture->system_count; ++i) {
    free(picture->systems[i].labels);
  }
  free(picture->systems);
  free(picture);
}
