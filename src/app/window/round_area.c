// SPDX-License-Identifier: GPL-3.0-or-later

#include "round_area.h"

#include <adwaita.h>
#include <math.h>
#include <string.h>

/// Width of the marker, pixels of the window.
#define MARKER 4.0f
/// Share of a colour over chosen bars.
#define CHOSEN_ALPHA 0.22f

struct _SrRoundArea {
  GtkWidget parent_instance;
  SrPainting painting; ///< Without size
  SrPainted* painted;  ///< As last drawn
  gboolean painting_now;
  gboolean stale; ///< Changed since the drawing that is under way began
  gboolean choosable;
  double mark;
  GtkGesture* drag;
  gboolean dragging;
  size_t drag_from;
  size_t drag_to;
};

G_DEFINE_FINAL_TYPE(SrRoundArea, sr_round_area, GTK_TYPE_WIDGET)

enum { BARS_CHOSEN, SIGNALS };
static guint signals[SIGNALS];

static void refresh(SrRoundArea* area);

static void
take_picture(void* const context, SrPainted* const painted)
{
  SrRoundArea* const area = SR_ROUND_AREA(context);
  area->painting_now = FALSE;
  if (painted && area->painting.chosen) {
    sr_painted_free(area->painted);
    area->painted = painted;
    gtk_widget_queue_draw(GTK_WIDGET(area));
  } else {
    sr_painted_free(painted);
  }
  if (area->stale) {
    refresh(area);
  }
  g_object_unref(area);
}

/// Have it drawn again, once: while it is being drawn, changes add up.
static void
refresh(SrRoundArea* const area)
{
  GtkWidget* const widget = GTK_WIDGET(area);
  const int width = gtk_widget_get_width(widget);
  const int height = gtk_widget_get_height(widget);
  if (!area->painting.chosen || width < (int)SR_ROUND_LEAST_WIDTH || height < 16) {
    return;
  }
  area->stale = area->painting_now;
  if (area->painting_now) {
    return;
  }
  SrPainting painting = sr_painting_copy(&area->painting);
  painting.width = width;
  painting.height = height;
  painting.scale = gtk_widget_get_scale_factor(widget);
  painting.style.dark = adw_style_manager_get_dark(adw_style_manager_get_default());
  area->painting_now = TRUE;
  sr_painter_draw(&painting, take_picture, g_object_ref(area));
}

/// Whether it is what is shown already: much is shown again whenever anything changes.
static gboolean
is_shown(const SrPainting* const shown, const SrPainting* const painting)
{
  const gboolean same = shown->chosen && shown->chosen == painting->chosen &&
                        shown->held == painting->held && shown->reached == painting->reached &&
                        shown->first_bar == painting->first_bar &&
                        shown->bar_count == painting->bar_count;
  if (!same || shown->held || !shown->notes || !painting->notes) {
    return same && shown->held;
  }
  // Padding may differ; then it is drawn once too often
  return memcmp(shown->notes, painting->notes,
                sr_phrase_note_count(shown->chosen->phrase) * sizeof(SrNoteVerdict)) == 0;
}

static void
show(SrRoundArea* const area, SrPainting* const painting)
{
  if (is_shown(&area->painting, painting)) {
    return;
  }
  const gboolean other = area->painting.chosen != painting->chosen;
  painting->style = area->painting.style;
  SrPainting copy = sr_painting_copy(painting);
  sr_painting_clear(&area->painting);
  area->painting = copy;
  if (other) {
    // Bars of one phrase are not those of another
    area->dragging = FALSE;
    g_clear_pointer(&area->painted, sr_painted_free);
    gtk_widget_queue_draw(GTK_WIDGET(area));
  }
  refresh(area);
}

void
sr_round_area_show_phrase(SrRoundArea* const area, SrChosen* const chosen)
{
  if (!chosen) {
    sr_painting_clear(&area->painting);
    g_clear_pointer(&area->painted, sr_painted_free);
    gtk_widget_queue_draw(GTK_WIDGET(area));
    return;
  }
  const size_t count = sr_phrase_note_count(chosen->phrase);
  SrNoteVerdict* const notes = g_new0(SrNoteVerdict, count);
  sr_round_area_show_notes(area, chosen, notes, 0, 0, 0);
  g_free(notes);
}

void
sr_round_area_show_round(SrRoundArea* const area, SrChosen* const chosen, SrHeldRound* const held,
                         const size_t first_bar, const size_t bar_count)
{
  SrPainting painting = {
      .chosen = chosen, .held = held, .first_bar = first_bar, .bar_count = bar_count};
  show(area, &painting);
}

void
sr_round_area_show_notes(SrRoundArea* const area, SrChosen* const chosen,
                         const SrNoteVerdict* const notes, const size_t reached,
                         const size_t first_bar, const size_t bar_count)
{
  SrPainting painting = {
      .chosen = chosen,
      .notes = g_memdup2(notes, sr_phrase_note_count(chosen->phrase) * sizeof(SrNoteVerdict)),
      .reached = reached,
      .first_bar = first_bar,
      .bar_count = bar_count};
  show(area, &painting);
  g_free(painting.notes);
}

void
sr_round_area_mark(SrRoundArea* const area, const double time)
{
  if (time != area->mark && !(isnan(time) && isnan(area->mark))) {
    area->mark = time;
    gtk_widget_queue_draw(GTK_WIDGET(area));
  }
}

void
sr_round_area_let_choose(SrRoundArea* const area, const gboolean choosable)
{
  area->choosable = choosable;
  gtk_widget_set_cursor_from_name(GTK_WIDGET(area), choosable ? "crosshair" : NULL);
}

void
sr_round_area_set_style(SrRoundArea* const area, const gboolean close, const gboolean offsets)
{
  SrRoundStyle* const style = &area->painting.style;
  if (style->close != close || style->no_offsets != !offsets) {
    style->close = close;
    style->no_offsets = !offsets;
    refresh(area);
  }
}

double
sr_round_area_letters(SrRoundArea* const area)
{
  return area->painted ? sr_round_picture_letters(area->painted->picture) : 0.0;
}

/// The boxes of the bars that are being dragged over.
static void
snapshot_chosen(SrRoundArea* const area, GtkSnapshot* const snapshot)
{
  GdkRGBA colour;
  gtk_style_context_get_color(gtk_widget_get_style_context(GTK_WIDGET(area)), &colour);
  colour.alpha = CHOSEN_ALPHA;
  const size_t first = MIN(area->drag_from, area->drag_to);
  const size_t last = MAX(area->drag_from, area->drag_to);
  for (size_t bar = first; bar <= last; ++bar) {
    SrRoundBox box;
    if (sr_round_picture_bar(area->painted->picture, bar, &box)) {
      const graphene_rect_t rect =
          GRAPHENE_RECT_INIT((float)box.left, (float)box.top, (float)box.width, (float)box.height);
      gtk_snapshot_append_color(snapshot, &colour, &rect);
    }
  }
}

static void
snapshot_marker(SrRoundArea* const area, GtkSnapshot* const snapshot)
{
  SrRoundBox box;
  GdkRGBA colour;
  gtk_style_context_get_color(gtk_widget_get_style_context(GTK_WIDGET(area)), &colour);
  sr_round_picture_time(area->painted->picture, area->mark, &box);
  const graphene_rect_t rect = GRAPHENE_RECT_INIT((float)box.left - MARKER / 2.0f, (float)box.top,
                                                  MARKER, (float)box.height);
  gtk_snapshot_append_color(snapshot, &colour, &rect);
}

static void
area_snapshot(GtkWidget* const widget, GtkSnapshot* const snapshot)
{
  SrRoundArea* const area = SR_ROUND_AREA(widget);
  if (!area->painted) {
    return;
  }
  // While the window is resized the last picture is stretched for a moment
  const graphene_rect_t whole = GRAPHENE_RECT_INIT(0.0f, 0.0f, (float)gtk_widget_get_width(widget),
                                                   (float)gtk_widget_get_height(widget));
  gtk_snapshot_append_texture(snapshot, area->painted->texture, &whole);
  if (area->dragging) {
    snapshot_chosen(area, snapshot);
  }
  if (!isnan(area->mark)) {
    snapshot_marker(area, snapshot);
  }
}

static void
area_measure(GtkWidget* const widget, const GtkOrientation orientation, const int for_size,
             int* const least, int* const natural, int* const least_baseline,
             int* const natural_baseline)
{
  (void)widget;
  (void)for_size;
  *least = orientation == GTK_ORIENTATION_HORIZONTAL ? (int)SR_ROUND_LEAST_WIDTH : 40;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 800 : 240;
  *least_baseline = -1;
  *natural_baseline = -1;
}

static void
area_size_allocate(GtkWidget* const widget, const int width, const int height, const int baseline)
{
  (void)width;
  (void)height;
  (void)baseline;
  refresh(SR_ROUND_AREA(widget));
}

static void
begin_drag(GtkGestureDrag* const drag, const double x, const double y, SrRoundArea* const area)
{
  (void)drag;
  if (area->choosable && area->painted) {
    area->dragging = TRUE;
    area->drag_from = area->drag_to = sr_round_picture_bar_at(area->painted->picture, x, y);
    gtk_widget_queue_draw(GTK_WIDGET(area));
  }
}

static void
update_drag(GtkGestureDrag* const drag, const double x, const double y, SrRoundArea* const area)
{
  double from_x = 0.0;
  double from_y = 0.0;
  if (area->dragging && area->painted && gtk_gesture_drag_get_start_point(drag, &from_x, &from_y)) {
    area->drag_to = sr_round_picture_bar_at(area->painted->picture, from_x + x, from_y + y);
    gtk_widget_queue_draw(GTK_WIDGET(area));
  }
}

static void
end_drag(GtkGestureDrag* const drag, const double x, const double y, SrRoundArea* const area)
{
  (void)drag;
  (void)y;
  const gboolean moved = area->dragging && fabs(x) >= 8.0;
  area->dragging = FALSE;
  gtk_widget_queue_draw(GTK_WIDGET(area));
  if (moved) {
    g_signal_emit(area, signals[BARS_CHOSEN], 0, (guint)MIN(area->drag_from, area->drag_to),
                  (guint)MAX(area->drag_from, area->drag_to));
  }
}

static void
area_dispose(GObject* const object)
{
  SrRoundArea* const area = SR_ROUND_AREA(object);
  sr_painting_clear(&area->painting);
  g_clear_pointer(&area->painted, sr_painted_free);
  G_OBJECT_CLASS(sr_round_area_parent_class)->dispose(object);
}

static void
sr_round_area_class_init(SrRoundAreaClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = area_dispose;
  widget->snapshot = area_snapshot;
  widget->measure = area_measure;
  widget->size_allocate = area_size_allocate;
  gtk_widget_class_set_accessible_role(widget, GTK_ACCESSIBLE_ROLE_IMG);
  gtk_widget_class_set_css_name(widget, "round");
  signals[BARS_CHOSEN] = g_signal_new("bars-chosen", SR_TYPE_ROUND_AREA, G_SIGNAL_RUN_LAST, 0, NULL,
                                      NULL, NULL, G_TYPE_NONE, 2, G_TYPE_UINT, G_TYPE_UINT);
}

static void
sr_round_area_init(SrRoundArea* const area)
{
  area->mark = (double)NAN;
  area->drag = gtk_gesture_drag_new();
  g_signal_connect(area->drag, "drag-begin", G_CALLBACK(begin_drag), area);
  g_signal_connect(area->drag, "drag-update", G_CALLBACK(update_drag), area);
  g_signal_connect(area->drag, "drag-end", G_CALLBACK(end_drag), area);
  gtk_widget_add_controller(GTK_WIDGET(area), GTK_EVENT_CONTROLLER(area->drag));
  g_signal_connect_object(adw_style_manager_get_default(), "notify::dark", G_CALLBACK(refresh),
                          area, G_CONNECT_SWAPPED);
  gtk_widget_set_overflow(GTK_WIDGET(area), GTK_OVERFLOW_HIDDEN);
  gtk_accessible_update_property(GTK_ACCESSIBLE(area), GTK_ACCESSIBLE_PROPERTY_LABEL, "Picture",
                                 -1);
}

GtkWidget*
sr_round_area_new(void)
{
  return GTK_WIDGET(g_object_new(SR_TYPE_ROUND_AREA, NULL));
}
