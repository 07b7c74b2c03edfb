// SPDX-License-Identifier: GPL-3.0-or-later

#include "layout_geometry.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// All in units of a column (pitch 1).
#define RADIUS 0.41       ///< Of a button
#define ROW_STEP 1.14     ///< From row to row: a button and the name below it
#define SLANT 0.13        ///< Shift towards the palm for each column nearer to the little finger
#define GAP 1.5           ///< Between the hands: the bellows
#define EDGE 0.14         ///< Around the buttons of a hand
#define FINGER_ROOM 0.44  ///< For the row of words
#define NAME_ROOM 0.25    ///< For the words below a button
#define AIR_LOWER (-0.08) ///< Middle of the air button against its line; negative is higher
#define AIR_WIDTH 1.3
#define AIR_HEIGHT 0.5

/// Size of a hand.
typedef struct {
  int rows;
  int columns;
  size_t extras;
} Extent;

static Extent
extent_of(const SrDrawnLayout* const layout, const SrHand hand)
{
  Extent extent = {1, 1, 0};
  for (size_t i = 0; i < layout->count; ++i) {
    const SrDrawnButton* const button = &layout->buttons[i];
    if (button->hand != hand) {
      continue;
    }
    if (button->row < 1) {
      ++extent.extras;
      continue;
    }
    extent.rows = button->row > extent.rows ? button->row : extent.rows;
    extent.columns = button->column > extent.columns ? button->column : extent.columns;
  }
  return extent;
}

/// Columns used by the line of extra buttons and the air button.
static double
last_line_columns(const SrDrawnLayout* const layout, const SrHand hand, const Extent* const extent)
{
  return (double)extent->extras + (layout->air_hand == hand ? AIR_WIDTH + 0.1 : 0.0);
}

/// Shift of a column towards the palm, in columns.
static double
slant_of(const SrDrawnLayout* const layout, const SrHand hand, const int columns, const int column)
{
  if (layout->straight) {
    return 0.0;
  }
  return SLANT * (hand == SR_HAND_LEFT ? columns - column : column - 1);
}

/// The finger of most buttons in a column; in a tie that of the button nearest to the palm.
static SrFinger
finger_of_column(const SrDrawnLayout* const layout, const SrHand hand, const int column, bool* any)
{
  int counts[SR_FINGER_LITTLE + 1] = {0};
  *any = false;
  int nearest_row = SR_MOST_ROWS + 1;
  SrFinger nearest = SR_FINGER_INDEX;
  for (size_t i = 0; i < layout->count; ++i) {
    const SrDrawnButton* const button = &layout->buttons[i];
    if (button->hand == hand && button->row > 0 && button->column == column) {
      ++counts[button->finger];
      *any = true;
      if (button->row < nearest_row) {
        nearest_row = button->row;
        nearest = button->finger;
      }
    }
  }
  SrFinger best = nearest;
  for (int finger = SR_FINGER_THUMB; finger <= SR_FINGER_LITTLE; ++finger) {
    if (counts[finger] > counts[best]) {
      best = (SrFinger)finger;
    }
  }
  return best;
}

/// Place the finger words above a hand, and find the buttons they are not right for.
static void
place_fingers(const SrDrawnLayout* const layout, const SrHand hand, const int columns,
              const double first_x, SrLayoutPlaces* const places)
{
  SrHandPlace* const place = &places->hands[hand];
  const double pitch = places->pitch;
  SrFinger of_column[SR_MOST_COLUMNS + 1];
  for (int column = 1; column <= columns && column <= SR_MOST_COLUMNS; ++column) {
    bool any = false;
    const SrFinger finger = finger_of_column(layout, hand, column, &any);
    of_column[column] = finger;
    if (!any) {
      continue;
    }
    const double x = first_x + (column - 1) * pitch;
    const double y =
        place->area.top + pitch * (FINGER_ROOM + slant_of(layout, hand, columns, column));
    SrFingerPlace* const last =
        place->finger_count ? &place->fingers[place->finger_count - 1] : NULL;
    if (last && last->finger == finger && x - last->right < pitch) {
      last->right = x + RADIUS * pitch;
      last->right_y = y;
    } else {
      const SrFingerPlace next = {finger, x - RADIUS * pitch, x + RADIUS * pitch, y, y};
      place->fingers[place->finger_count++] = next;
    }
  }
  for (size_t i = 0; i < layout->count; ++i) {
    const SrDrawnButton* const button = &layout->buttons[i];
    if (button->hand == hand) {
      places->places[i].own_finger = button->row < 1 || button->column > SR_MOST_COLUMNS ||
                                     of_column[button->column] != button->finger;
    }
  }
}

/// Place the buttons of a hand, given its area except the height. Returns the lowest of them.
static double
place_hand(const SrDrawnLayout* const layout, const SrHand hand, const Extent* const extent,
           const int most_rows, SrLayoutPlaces* const places)
{
  const double pitch = places->pitch;
  const SrArea* const area = &places->hands[hand].area;
  // The rows are at the inner end, where the index fingers and thumbs are
  const double inner =
      hand == SR_HAND_LEFT ? area->left + area->width - EDGE * pitch : area->left + EDGE * pitch;
  const double first_x =
      hand == SR_HAND_LEFT ? inner - pitch * ((double)extent->columns - 0.5) : inner + 0.5 * pitch;
  const double first_y = area->top + pitch * (FINGER_ROOM + 0.12 + RADIUS);
  double lowest = 0.0;
  for (size_t i = 0; i < layout->count; ++i) {
    const SrDrawnButton* const button = &layout->buttons[i];
    if (button->hand == hand && button->row > 0) {
      SrButtonPlace* const place = &places->places[i];
      place->x = first_x + pitch * (button->column - 1);
      place->y = first_y + pitch * (ROW_STEP * (most_rows - button->row) +
                                    slant_of(layout, hand, extent->columns, button->column));
      lowest = fmax(lowest, place->y + pitch * (RADIUS + NAME_ROOM));
    }
  }
  // The line of extra buttons runs outwards from the thumb, slanted like the rows; the air button
  // comes first
  const double sign = hand == SR_HAND_LEFT ? -1.0 : 1.0;
  const double slant = layout->straight ? 0.0 : SLANT * pitch;
  const double last_y = first_y + pitch * ROW_STEP * most_rows;
  double along = 0.0;
  if (layout->air_hand == hand) {
    const double width = pitch * AIR_WIDTH;
    const double height = pitch * AIR_HEIGHT;
    places->air.left = inner + (hand == SR_HAND_LEFT ? -width - 0.05 * pitch : 0.05 * pitch);
    places->air.top = last_y + pitch * AIR_LOWER - height / 2.0;
    places->air.width = width;
    places->air.height = height;
    lowest = fmax(lowest, places->air.top + height + pitch * NAME_ROOM);
    along = AIR_WIDTH + 0.1;
  }
  for (size_t i = 0; i < layout->count; ++i) {
    if (layout->buttons[i].hand == hand && layout->buttons[i].row < 1) {
      places->places[i].x = inner + sign * pitch * (along + 0.5);
      places->places[i].y = last_y + slant * along;
      lowest = fmax(lowest, places->places[i].y + pitch * (RADIUS + 2.0 * NAME_ROOM));
      along += 1.0;
    }
  }
  place_fingers(layout, hand, extent->columns, first_x, places);
  return lowest;
}

SrStatus
sr_layout_places(const SrDrawnLayout* const layout, const double width, const double most_height,
                 const double most_pitch, SrLayoutPlaces* const places)
{
  memset(places, 0, sizeof(*places));
  places->places = calloc(layout->count ? layout->count : 1, sizeof(SrButtonPlace));
  if (!places->places) {
    return SR_NO_MEMORY;
  }
  Extent extents[2];
  double columns[2];
  double slant = 0.0;
  double last = 0.0;
  int rows = 1;
  for (int hand = SR_HAND_LEFT; hand <= SR_HAND_RIGHT; ++hand) {
    extents[hand] = extent_of(layout, (SrHand)hand);
    const Extent* const extent = &extents[hand];
    const double last_line = last_line_columns(layout, (SrHand)hand, extent);
    columns[hand] = fmax((double)extent->columns, last_line) + 2.0 * EDGE;
    rows = extent->rows > rows ? extent->rows : rows;
    last = last_line > 0.0 ? ROW_STEP + NAME_ROOM : last;
    slant = layout->straight ? 0.0 : fmax(slant, SLANT * fmax(extent->columns, last_line));
  }
  // Upper bound: words, rows, the extra line, and the words below it
  const double lines =
      FINGER_ROOM + 0.12 + 2.0 * RADIUS + slant + ROW_STEP * (rows - 1) + last + NAME_ROOM + EDGE;
  const double all_columns = columns[0] + columns[1] + GAP;
  const double pitch = fmin(fmin(width / all_columns, most_height / lines), most_pitch);
  places->pitch = pitch;
  places->radius = RADIUS * pitch;
  places->width = width;
  const double left = (width - pitch * all_columns) / 2.0;
  places->hands[SR_HAND_LEFT].area.left = left;
  places->hands[SR_HAND_LEFT].area.width = pitch * columns[0];
  places->hands[SR_HAND_RIGHT].area.left = left + pitch * (columns[0] + GAP);
  places->hands[SR_HAND_RIGHT].area.width = pitch * columns[1];
  double lowest = 0.0;
  for (int hand = SR_HAND_LEFT; hand <= SR_HAND_RIGHT; ++hand) {
    lowest = fmax(lowest, place_hand(layout, (SrHand)hand, &extents[hand], rows, places));
  }
  places->height = lowest + EDGE * pitch;
  places->hands[SR_HAND_LEFT].area.height = places->height;
  places->hands[SR_HAND_RIGHT].area.height = places->height;
  return SR_OK;
}

void
sr_layout_places_clear(SrLayoutPlaces* const places)
{
  free(places->places);
  memset(places, 0, sizeof(*places));
}
