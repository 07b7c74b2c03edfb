// SPDX-License-Identifier: GPL-3.0-or-later

#include "stage.h"

#include <math.h>

/// Letters whose capitals are 12 mm high at 1280 by 800 on 14 inches: such a screen has 0.2356 mm a
/// pixel, and capitals are 0.7 of their letters (DejaVu Sans 0.73, Cantarell 0.69).
#define HEAD_SIZE 76.0
/// The size of window that is for.
#define USUAL_WIDTH 1280.0
#define USUAL_HEIGHT 800.0
/// Head and words under it are never smaller than this on any window.
#define HEAD_LEAST 30.0
/// The head is at most this much larger than it must be.
#define HEAD_ROOM 1.5
#define UNDER_SHARE 0.5
/// Windows less wide than this have everything under each other.
#define WIDE 700
#define GAP 10

struct _SrStage {
  GtkWidget parent_instance;
  SrStageState state;
  gboolean has_part;
  GtkWidget* head;
  GtkWidget* under;
  GtkWidget* whole;
  GtkWidget* part;
  GtkWidget* meter;
  GtkWidget* rest;
  GtkWidget* rest_scrolled;
};

G_DEFINE_FINAL_TYPE(SrStage, sr_stage, GTK_TYPE_WIDGET)

/// What is left of a place while parts are laid into it.
typedef struct {
  int left;
  int top;
  int width;
  int height;
} Room;

static void
place(GtkWidget* const widget, const Room room)
{
  const gboolean shown = room.width > 0 && room.height > 0;
  gtk_widget_set_child_visible(widget, shown);
  if (!shown) {
    return;
  }
  int least = 0;
  gtk_widget_measure(widget, GTK_ORIENTATION_VERTICAL, -1, &least, NULL, NULL, NULL);
  const GtkAllocation allocation = {room.left, room.top, room.width, MAX(least, room.height)};
  gtk_widget_size_allocate(widget, &allocation, -1);
}

static void
hide(GtkWidget* const widget)
{
  gtk_widget_set_child_visible(widget, FALSE);
}

/// Take the upper part of a room.
static Room
take_top(Room* const room, const int height)
{
  const Room top = {room->left, room->top, room->width, MIN(height, room->height)};
  const int used = MIN(room->height, top.height + GAP);
  room->top += used;
  room->height -= used;
  return top;
}

/// Size of the head's letters that a window of this size must reach.
static double
head_size(const int width, const int height)
{
  return fmax(HEAD_LEAST, HEAD_SIZE * sqrt(width * height / (USUAL_WIDTH * USUAL_HEIGHT)));
}

/// Height of words, as large as must be, at least a share of the room and at most another.
static int
words_height(SrBigLabel* const label, const double size, const int width, const double least,
             const double most)
{
  const double wanted = sr_big_label_height(label, size, width);
  return (int)ceil(CLAMP(wanted, least, most));
}

/// Head and the words under it, at the top of a room.
static void
place_words(SrStage* const stage, Room* const room, const double size, const double most)
{
  SrBigLabel* const head = SR_BIG_LABEL(stage->head);
  SrBigLabel* const under = SR_BIG_LABEL(stage->under);
  sr_big_label_limit(head, HEAD_ROOM * size);
  sr_big_label_limit(under, UNDER_SHARE * size);
  const gboolean both = sr_big_label_text(under)[0] != '\0';
  const int under_height =
      both ? words_height(under, UNDER_SHARE * size, room->width, 0.0, 0.4 * most) : 0;
  const int head_height =
      words_height(head, size, room->width, 1.2 * size, most - (double)under_height);
  place(stage->head, take_top(room, head_height));
  if (both) {
    place(stage->under, take_top(room, under_height));
  } else {
    hide(stage->under);
  }
}

/// The phrase above, words below.
static void
place_phrase(SrStage* const stage, Room room, const double size)
{
  const gboolean meter = stage->state == SR_STAGE_READY;
  // Kept free while somebody plays too: the phrase must not move when the first note comes
  const int meter_height = 30;
  const int words = (int)(room.height * 0.34);
  hide(stage->part);
  hide(stage->rest_scrolled);
  place(stage->whole, take_top(&room, room.height - words - meter_height));
  Room below = room;
  below.height -= meter_height;
  place_words(stage, &below, size, below.height);
  if (meter) {
    const int width = MIN(room.width, 420);
    const Room bottom = {room.left + (room.width - width) / 2,
                         room.top + room.height - meter_height, width, meter_height};
    place(stage->meter, bottom);
  } else {
    hide(stage->meter);
  }
}

/// Words above, then the bar they are about with the figures, then the whole.
static void
place_verdict(SrStage* const stage, Room room, const double size)
{
  const int height = room.height;
  hide(stage->meter);
  place_words(stage, &room, size, 0.5 * height);
  const gboolean wide = room.width >= WIDE;
  const int whole = (int)((wide ? 0.165 : 0.2) * height);
  Room bottom = {room.left, room.top + room.height - whole, room.width, whole};
  room.height -= whole + GAP;
  if (!stage->has_part) {
    hide(stage->part);
    bottom.top = room.top;
    bottom.height = room.height + whole + GAP;
    room.height = bottom.height;
  }
  if (wide) {
    const int side = CLAMP(room.width * 3 / 10, 220, 420);
    Room left = room;
    left.width -= side + 2 * GAP;
    const Room right = {room.left + room.width - side, room.top, side, room.height};
    if (stage->has_part) {
      place(stage->part, left);
    } else {
      bottom.width = left.width;
    }
    place(stage->rest_scrolled, right);
  } else {
    const int part = stage->has_part ? room.height * 6 / 10 : 0;
    if (stage->has_part) {
      place(stage->part, take_top(&room, part));
      place(stage->rest_scrolled, room);
    } else {
      place(stage->rest_scrolled, take_top(&bottom, bottom.height * 4 / 10));
    }
  }
  place(stage->whole, bottom);
}

static void
stage_size_allocate(GtkWidget* const widget, const int width, const int height, const int baseline)
{
  (void)baseline;
  SrStage* const stage = SR_STAGE(widget);
  const int margin = width >= WIDE ? 24 : 12;
  const Room room = {margin, GAP / 2, width - 2 * margin, height - GAP};
  const double size = head_size(width, height * 8 / 7);
  if (stage->state == SR_STAGE_VERDICT) {
    place_verdict(stage, room, size);
  } else {
    place_phrase(stage, room, size);
  }
}

static void
stage_measure(GtkWidget* const widget, const GtkOrientation orientation, const int for_size,
              int* const least, int* const natural, int* const least_baseline,
              int* const natural_baseline)
{
  (void)widget;
  (void)for_size;
  *least = orientation == GTK_ORIENTATION_HORIZONTAL ? 320 : 280;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 1100 : 620;
  *least_baseline = -1;
  *natural_baseline = -1;
}

void
sr_stage_set_state(SrStage* const stage, const SrStageState state)
{
  const gboolean verdict = state == SR_STAGE_VERDICT;
  stage->state = state;
  sr_big_label_centre(SR_BIG_LABEL(stage->head), !verdict);
  sr_big_label_centre(SR_BIG_LABEL(stage->under), !verdict);
  sr_round_area_set_style(SR_ROUND_AREA(stage->whole), TRUE, FALSE);
  sr_round_area_let_choose(SR_ROUND_AREA(stage->whole), state != SR_STAGE_PLAYING);
  gtk_widget_queue_allocate(GTK_WIDGET(stage));
}

SrStageState
sr_stage_state(SrStage* const stage)
{
  return stage->state;
}

void
sr_stage_let_part(SrStage* const stage, const gboolean shown)
{
  stage->has_part = shown;
  gtk_widget_queue_allocate(GTK_WIDGET(stage));
}

SrBigLabel*
sr_stage_head(SrStage* const stage)
{
  return SR_BIG_LABEL(stage->head);
}

SrBigLabel*
sr_stage_under(SrStage* const stage)
{
  return SR_BIG_LABEL(stage->under);
}

SrRoundArea*
sr_stage_whole(SrStage* const stage)
{
  return SR_ROUND_AREA(stage->whole);
}

SrRoundArea*
sr_stage_part(SrStage* const stage)
{
  return SR_ROUND_AREA(stage->part);
}

SrInputMeter*
sr_stage_meter(SrStage* const stage)
{
  return SR_INPUT_METER(stage->meter);
}

GtkBox*
sr_stage_rest(SrStage* const stage)
{
  return GTK_BOX(stage->rest);
}

static void
stage_dispose(GObject* const object)
{
  for (GtkWidget* child = NULL; (child = gtk_widget_get_first_child(GTK_WIDGET(object)));) {
    gtk_widget_unparent(child);
  }
  G_OBJECT_CLASS(sr_stage_parent_class)->dispose(object);
}

static void
sr_stage_class_init(SrStageClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = stage_dispose;
  widget->size_allocate = stage_size_allocate;
  widget->measure = stage_measure;
  gtk_widget_class_set_css_name(widget, "stage");
}

static void
sr_stage_init(SrStage* const stage)
{
  stage->head = sr_big_label_new();
  stage->under = sr_big_label_new();
  stage->part = sr_round_area_new();
  stage->whole = sr_round_area_new();
  stage->meter = sr_input_meter_new();
  stage->rest = gtk_box_new(GTK_ORIENTATION_VERTICAL, 4);
  stage->rest_scrolled = gtk_scrolled_window_new();
  gtk_scrolled_window_set_policy(GTK_SCROLLED_WINDOW(stage->rest_scrolled), GTK_POLICY_NEVER,
                                 GTK_POLICY_AUTOMATIC);
  gtk_scrolled_window_set_child(GTK_SCROLLED_WINDOW(stage->rest_scrolled), stage->rest);
  // Without this only a wheel or a finger moves it
  gtk_widget_set_focusable(stage->rest_scrolled, TRUE);
  gtk_accessible_update_property(GTK_ACCESSIBLE(stage->rest_scrolled),
                                 GTK_ACCESSIBLE_PROPERTY_LABEL, "More about the round", -1);
  sr_big_label_set_bold(SR_BIG_LABEL(stage->under), FALSE);
  GtkWidget* const parts[] = {stage->head,  stage->under, stage->part,
                              stage->whole, stage->meter, stage->rest_scrolled};
  for (size_t i = 0; i < G_N_ELEMENTS(parts); ++i) {
    gtk_widget_set_parent(parts[i], GTK_WIDGET(stage));
  }
  // Keys that no button takes come from here
  gtk_widget_set_focusable(GTK_WIDGET(stage), TRUE);
  sr_round_area_set_style(SR_ROUND_AREA(stage->part), TRUE, TRUE);
  gtk_accessible_update_property(GTK_ACCESSIBLE(stage), GTK_ACCESSIBLE_PROPERTY_LABEL, "Practice",
                                 -1);
  sr_stage_set_state(stage, SR_STAGE_READY);
}

GtkWidget*
sr_stage_new(void)
{
  return GTK_WIDGET(g_object_new(SR_TYPE_STAGE, NULL));
}
