// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_strip.h"

#include "time_scale.h"

#include <adwaita.h>
#include <math.h>

/// Height of the times under the outline, pixels.
#define TIMES 24.0
/// Least distance of two times, pixels.
#define TIMES_APART 72.0
/// Height of the words over the outline, pixels.
#define HEAD 26.0
/// How much of its colour the outline has where it is marked, and elsewhere.
#define MARKED_ALPHA 0.9
#define REST_ALPHA 0.45
/// How near to an end of the stretch a drag moves it, pixels.
#define REACH 18.0
/// Width of the stroke at an end, and of the rule under the stretch, pixels.
#define STROKE 3.0
/// Of the words from their stroke, pixels.
#define WORDS_GAP 6.0
/// An end that is dragged goes to a quiet place this near, pixels, and at most as far, s.
#define SNAP 8.0
#define MOST_SNAP_S 0.15
/// One turn of a wheel, or one key, shows more or less by this.
#define ZOOM 1.25
/// … and goes on by this share of what is shown.
#define STEP 0.1
/// Shortest stretch that is marked by dragging, s.
#define LEAST_S 0.1

typedef enum { DRAG_NOTHING, DRAG_NEW, DRAG_FROM, DRAG_TO } Drag;

struct _SrTakeStrip {
  GtkWidget parent_instance;
  const SrTakeOutline* outline;
  SrTimeScale scale;
  double from_s;
  double to_s;
  double line_s;
  Drag drag;
  double drag_from_s; ///< Where a new stretch began
  double pointer_x;
  PangoLayout* layout;
};

G_DEFINE_FINAL_TYPE(SrTakeStrip, sr_take_strip, GTK_TYPE_WIDGET)

enum { MARKED, MOVED, SIGNALS };
static guint signals[SIGNALS];

static void
say_marked(SrTakeStrip* const strip)
{
  char whole[SR_TIME_WORDS_SIZE];
  char from[SR_TIME_WORDS_SIZE];
  char to[SR_TIME_WORDS_SIZE];
  sr_time_words(strip->scale.seconds, false, whole);
  sr_time_words(strip->from_s, true, from);
  sr_time_words(strip->to_s, true, to);
  char* const words =
      strip->outline
          ? g_strdup_printf("The recording, %s long; marked from %s to %s", whole, from, to)
          : g_strdup("No recording");
  gtk_accessible_update_property(GTK_ACCESSIBLE(strip), GTK_ACCESSIBLE_PROPERTY_LABEL, words, -1);
  g_free(words);
}

static void
tell_moved(SrTakeStrip* const strip)
{
  gtk_widget_queue_draw(GTK_WIDGET(strip));
  g_signal_emit(strip, signals[MOVED], 0);
}

void
sr_take_strip_show(SrTakeStrip* const strip, const SrTakeOutline* const outline)
{
  const double width = gtk_widget_get_width(GTK_WIDGET(strip));
  strip->outline = outline;
  strip->scale = sr_time_scale_all(outline ? sr_take_outline_seconds(outline) : 1.0, width);
  strip->from_s = strip->to_s = 0.0;
  strip->line_s = (double)NAN;
  strip->drag = DRAG_NOTHING;
  gtk_widget_set_focusable(GTK_WIDGET(strip), outline != NULL);
  say_marked(strip);
  tell_moved(strip);
}

void
sr_take_strip_mark(SrTakeStrip* const strip, const double from_s, const double to_s)
{
  if (strip->from_s != from_s || strip->to_s != to_s) {
    strip->from_s = from_s;
    strip->to_s = to_s;
    say_marked(strip);
    gtk_widget_queue_draw(GTK_WIDGET(strip));
  }
}

void
sr_take_strip_line(SrTakeStrip* const strip, const double at_s)
{
  const bool same = strip->line_s == at_s || (isnan(strip->line_s) && isnan(at_s));
  if (!same) {
    SrTimeScale* const scale = &strip->scale;
    strip->line_s = at_s;
    // It is followed where it leaves what is shown
    if (isfinite(at_s) && strip->drag == DRAG_NOTHING &&
        (at_s >= scale->from_s + scale->shown_s || at_s < scale->from_s)) {
      sr_time_scale_move(scale, at_s - STEP * scale->shown_s);
      tell_moved(strip);
    }
    gtk_widget_queue_draw(GTK_WIDGET(strip));
  }
}

static void
zoom_about(SrTakeStrip* const strip, const double factor, const double about_s)
{
  sr_time_scale_zoom(&strip->scale, factor, about_s);
  tell_moved(strip);
}

void
sr_take_strip_zoom(SrTakeStrip* const strip, const double factor)
{
  const SrTimeScale* const scale = &strip->scale;
  const double middle_s = (strip->from_s + strip->to_s) / 2.0;
  const bool in_sight = middle_s >= scale->from_s && middle_s <= scale->from_s + scale->shown_s;
  zoom_about(strip, factor, in_sight ? middle_s : scale->from_s + scale->shown_s / 2.0);
}

void
sr_take_strip_fit(SrTakeStrip* const strip, const gboolean all)
{
  if (all) {
    sr_time_scale_fit(&strip->scale, 0.0, strip->scale.seconds);
  } else {
    sr_time_scale_fit(&strip->scale, strip->from_s, strip->to_s);
  }
  tell_moved(strip);
}

void
sr_take_strip_move(SrTakeStrip* const strip, const double from_s)
{
  const double before_s = strip->scale.from_s;
  sr_time_scale_move(&strip->scale, from_s);
  if (strip->scale.from_s != before_s) {
    tell_moved(strip);
  }
}

void
sr_take_strip_part(SrTakeStrip* const strip, double* const from_s, double* const shown_s)
{
  *from_s = strip->scale.from_s;
  *shown_s = strip->scale.shown_s;
}

/// Height of a level in the outline, 0 to 1: by the square root both the dips between notes and
/// soft notes are seen.
static double
height_of(const double peak, const double loudest)
{
  return loudest > 0.0 ? sqrt(peak / loudest) : 0.0;
}

static void
use(cairo_t* const cr, const GdkRGBA* const colour, const double alpha)
{
  cairo_set_source_rgba(cr, (double)colour->red, (double)colour->green, (double)colour->blue,
                        alpha * (double)colour->alpha);
}

/// The outline from one place to another, as a thin line.
static void
draw_outline(const SrTakeStrip* const strip, cairo_t* const cr, const double left,
             const double right, const double floor)
{
  const double loudest = sr_take_outline_peak(strip->outline, 0.0, strip->scale.seconds);
  const int columns = (int)ceil(right - left);
  for (int i = 0; i < columns; ++i) {
    const double x = left + i;
    const double peak = sr_take_outline_peak(strip->outline, sr_time_scale_time(&strip->scale, x),
                                             sr_time_scale_time(&strip->scale, x + 1.0));
    cairo_line_to(cr, x + 0.5, floor - fmax(1.0, (floor - HEAD - 4.0) * height_of(peak, loudest)));
  }
  cairo_set_line_width(cr, 1.0);
  cairo_stroke(cr);
}

static void
draw_times(SrTakeStrip* const strip, cairo_t* const cr, const GdkRGBA* const ink,
           const double ground)
{
  const SrTimeScale* const scale = &strip->scale;
  const double step_s = sr_time_scale_step(scale, TIMES_APART);
  const double last_s = scale->from_s + scale->shown_s;
  const int last = (int)floor(last_s / step_s + 1e-6);
  for (int k = (int)ceil(scale->from_s / step_s - 1e-6); k <= last; ++k) {
    char words[SR_TIME_WORDS_SIZE];
    int width = 0;
    const double x = sr_time_scale_place(scale, k * step_s);
    sr_time_words(k * step_s, step_s < 1.0, words);
    pango_layout_set_text(strip->layout, words, -1);
    pango_layout_get_pixel_size(strip->layout, &width, NULL);
    use(cr, ink, 0.5);
    cairo_rectangle(cr, x - 0.5, ground, 1.0, 5.0);
    cairo_fill(cr);
    use(cr, ink, 0.85);
    cairo_move_to(cr, fmax(0.0, fmin(x - width / 2.0, scale->width - width)), ground + 4.0);
    pango_cairo_show_layout(cr, strip->layout);
  }
}

/// The words at the head of a stroke, at its left or right; at the other side if they would leave
/// what is shown.
static void
say_end(const SrTakeStrip* const strip, cairo_t* const cr, const char* const words, const double x,
        const bool at_left)
{
  int width = 0;
  pango_layout_set_text(strip->layout, words, -1);
  pango_layout_get_pixel_size(strip->layout, &width, NULL);
  const double left = x - WORDS_GAP - width;
  const double right = x + WORDS_GAP;
  const bool fits = at_left ? left >= 0.0 : right + width <= strip->scale.width;
  cairo_move_to(cr, at_left == fits ? left : right, 0.0);
  pango_cairo_show_layout(cr, strip->layout);
}

/// The stretch: at each end a stroke as at the end of a line of bars, with its word and its time,
/// and a rule between them.
static void
draw_stretch(SrTakeStrip* const strip, cairo_t* const cr, const double floor)
{
  // Blue and sky blue of the palette in src/show/pen.h
  static const GdkRGBA day = {0.0f, 0.447f, 0.698f, 1.0f};
  static const GdkRGBA night = {0.337f, 0.706f, 0.914f, 1.0f};
  const GdkRGBA mark = adw_style_manager_get_dark(adw_style_manager_get_default()) ? night : day;
  const double ends[] = {sr_time_scale_place(&strip->scale, strip->from_s),
                         sr_time_scale_place(&strip->scale, strip->to_s)};
  const double at_s[] = {strip->from_s, strip->to_s};
  const double left = fmax(0.0, ends[0]);
  const double right = fmin(strip->scale.width, ends[1]);
  char words[2][16 + SR_TIME_WORDS_SIZE];
  double wanted = 4.0 * WORDS_GAP;
  use(cr, &mark, MARKED_ALPHA);
  if (right > left) {
    draw_outline(strip, cr, (double)(long)left, right, floor);
    cairo_rectangle(cr, left, floor - STROKE / 2.0, right - left, STROKE);
    cairo_fill(cr);
  }
  use(cr, &mark, 1.0);
  for (size_t end = 0; end < 2; ++end) {
    char time[SR_TIME_WORDS_SIZE];
    int width = 0;
    sr_time_words(at_s[end], true, time);
    g_snprintf(words[end], sizeof(words[end]), "%s %s", end ? "to" : "from", time);
    pango_layout_set_text(strip->layout, words[end], -1);
    pango_layout_get_pixel_size(strip->layout, &width, NULL);
    wanted += width;
  }
  // Within the stretch if there is room, else around it
  const bool within = ends[1] - ends[0] >= wanted;
  for (size_t end = 0; end < 2; ++end) {
    if (ends[end] < -STROKE || ends[end] > strip->scale.width + STROKE) {
      continue;
    }
    cairo_rectangle(cr, ends[end] - STROKE / 2.0, 0.0, STROKE, floor + 5.0);
    cairo_fill(cr);
    say_end(strip, cr, words[end], ends[end], within == (end == 1));
  }
}

static void
strip_snapshot(GtkWidget* const widget, GtkSnapshot* const snapshot)
{
  SrTakeStrip* const strip = SR_TAKE_STRIP(widget);
  const float width = (float)gtk_widget_get_width(widget);
  const float height = (float)gtk_widget_get_height(widget);
  if (!strip->outline || width < 1.0f || height < (float)(TIMES + HEAD) + 8.0f) {
    return;
  }
  GdkRGBA ink;
  const graphene_rect_t whole = GRAPHENE_RECT_INIT(0.0f, 0.0f, width, height);
  cairo_t* const cr = gtk_snapshot_append_cairo(snapshot, &whole);
  const double floor = (double)height - TIMES;
  gtk_style_context_get_color(gtk_widget_get_style_context(widget), &ink);
  use(cr, &ink, REST_ALPHA);
  draw_outline(strip, cr, 0.0, (double)width, floor);
  use(cr, &ink, 0.6);
  cairo_rectangle(cr, 0.0, floor, (double)width, 1.0);
  cairo_fill(cr);
  draw_stretch(strip, cr, floor);
  draw_times(strip, cr, &ink, floor);
  if (isfinite(strip->line_s)) {
    use(cr, &ink, 1.0);
    cairo_rectangle(cr, sr_time_scale_place(&strip->scale, strip->line_s) - 1.0, HEAD, 2.0,
                    floor - HEAD + 6.0);
    cairo_fill(cr);
  }
  cairo_destroy(cr);
}

static void
strip_measure(GtkWidget* const widget, const GtkOrientation orientation, const int for_size,
              int* const least, int* const natural, int* const least_baseline,
              int* const natural_baseline)
{
  (void)widget;
  (void)for_size;
  *least = orientation == GTK_ORIENTATION_HORIZONTAL ? 200 : 150;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 800 : 340;
  *least_baseline = -1;
  *natural_baseline = -1;
}

static void
strip_size_allocate(GtkWidget* const widget, const int width, const int height, const int baseline)
{
  (void)height;
  (void)baseline;
  SR_TAKE_STRIP(widget)->scale.width = width;
}

/// Which end is in reach of a place; the nearer one.
static Drag
end_at(const SrTakeStrip* const strip, const double x)
{
  const double to_from = fabs(x - sr_time_scale_place(&strip->scale, strip->from_s));
  const double to_to = fabs(x - sr_time_scale_place(&strip->scale, strip->to_s));
  if (fmin(to_from, to_to) > REACH) {
    return DRAG_NEW;
  }
  return to_from < to_to ? DRAG_FROM : DRAG_TO;
}

/// The time at a place, or that of a pause close to it.
static double
snapped(const SrTakeStrip* const strip, const double x)
{
  const double at_s = sr_time_scale_time(&strip->scale, x);
  const double within_s =
      fmin(MOST_SNAP_S, SNAP * strip->scale.shown_s / fmax(1.0, strip->scale.width));
  return sr_take_outline_quiet(strip->outline, at_s, within_s);
}

static void
begin_drag(GtkGestureDrag* const drag, const double x, const double y, SrTakeStrip* const strip)
{
  (void)y;
  if (strip->outline) {
    // What it stands in must not scroll along
    gtk_gesture_set_state(GTK_GESTURE(drag), GTK_EVENT_SEQUENCE_CLAIMED);
    gtk_widget_grab_focus(GTK_WIDGET(strip));
    strip->drag = end_at(strip, x);
    strip->drag_from_s = snapped(strip, x);
  }
}

static void
update_drag(GtkGestureDrag* const drag, const double x, const double y, SrTakeStrip* const strip)
{
  (void)y;
  double begin_x = 0.0;
  double begin_y = 0.0;
  if (strip->drag == DRAG_NOTHING || !gtk_gesture_drag_get_start_point(drag, &begin_x, &begin_y)) {
    return;
  }
  const double at_s = snapped(strip, begin_x + x);
  double from_s = strip->drag == DRAG_FROM ? at_s : strip->from_s;
  double to_s = strip->drag == DRAG_TO ? at_s : strip->to_s;
  if (strip->drag == DRAG_NEW) {
    from_s = fmin(strip->drag_from_s, at_s);
    to_s = fmax(strip->drag_from_s, at_s);
  } else if (from_s > to_s) {
    // It was dragged past the other end, and is that one from now on
    strip->drag = strip->drag == DRAG_FROM ? DRAG_TO : DRAG_FROM;
    const double end_s = from_s;
    from_s = to_s;
    to_s = end_s;
  }
  if (fabs(x) >= 4.0 && to_s - from_s >= LEAST_S) {
    sr_take_strip_mark(strip, from_s, to_s);
    g_signal_emit(strip, signals[MARKED], 0, from_s, to_s);
  }
}

static void
end_drag(GtkGestureDrag* const drag, const double x, const double y, SrTakeStrip* const strip)
{
  (void)drag;
  (void)x;
  (void)y;
  strip->drag = DRAG_NOTHING;
}

static void
move_pointer(GtkEventControllerMotion* const motion, const double x, const double y,
             SrTakeStrip* const strip)
{
  (void)motion;
  (void)y;
  strip->pointer_x = x;
  const bool at_end = strip->outline && end_at(strip, x) != DRAG_NEW;
  gtk_widget_set_cursor_from_name(GTK_WIDGET(strip), at_end ? "ew-resize" : "crosshair");
}

/// A wheel goes along the recording; with Control it shows more or less of it.
static gboolean
turn_wheel(GtkEventControllerScroll* const wheel, const double x, const double y,
           SrTakeStrip* const strip)
{
  const GdkModifierType state =
      gtk_event_controller_get_current_event_state(GTK_EVENT_CONTROLLER(wheel));
  SrTimeScale* const scale = &strip->scale;
  if (!strip->outline) {
    return GDK_EVENT_PROPAGATE;
  }
  if (state & GDK_CONTROL_MASK) {
    zoom_about(strip, pow(ZOOM, y), sr_time_scale_time(scale, strip->pointer_x));
    return GDK_EVENT_STOP;
  }
  const double by = fabs(x) > fabs(y) || (state & GDK_SHIFT_MASK) ? (fabs(x) > 0.0 ? x : y) : 0.0;
  sr_take_strip_move(strip, scale->from_s + by * STEP * scale->shown_s);
  // Up and down belongs to what the strip stands in
  return fabs(by) > 0.0 ? GDK_EVENT_STOP : GDK_EVENT_PROPAGATE;
}

static gboolean
press_key(GtkEventControllerKey* const keys, const guint value, const guint code,
          const GdkModifierType state, SrTakeStrip* const strip)
{
  (void)keys;
  (void)code;
  const double shown_s = strip->scale.shown_s;
  const double from_s = strip->scale.from_s;
  if (!strip->outline || (state & (GDK_CONTROL_MASK | GDK_ALT_MASK))) {
    return GDK_EVENT_PROPAGATE;
  }
  switch (value) {
  case GDK_KEY_Left:
    sr_take_strip_move(strip, from_s - STEP * shown_s);
    return GDK_EVENT_STOP;
  case GDK_KEY_Right:
    sr_take_strip_move(strip, from_s + STEP * shown_s);
    return GDK_EVENT_STOP;
  case GDK_KEY_Home:
    sr_take_strip_move(strip, 0.0);
    return GDK_EVENT_STOP;
  case GDK_KEY_End:
    sr_take_strip_move(strip, strip->scale.seconds);
    return GDK_EVENT_STOP;
  case GDK_KEY_plus:
  case GDK_KEY_KP_Add:
    sr_take_strip_zoom(strip, 1.0 / ZOOM);
    return GDK_EVENT_STOP;
  case GDK_KEY_minus:
  case GDK_KEY_KP_Subtract:
    sr_take_strip_zoom(strip, ZOOM);
    return GDK_EVENT_STOP;
  default:
    return GDK_EVENT_PROPAGATE;
  }
}

static void
strip_finalize(GObject* const object)
{
  g_object_unref(SR_TAKE_STRIP(object)->layout);
  G_OBJECT_CLASS(sr_take_strip_parent_class)->finalize(object);
}

static void
sr_take_strip_class_init(SrTakeStripClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = strip_finalize;
  widget->snapshot = strip_snapshot;
  widget->measure = strip_measure;
  widget->size_allocate = strip_size_allocate;
  gtk_widget_class_set_accessible_role(widget, GTK_ACCESSIBLE_ROLE_IMG);
  gtk_widget_class_set_css_name(widget, "strip");
  signals[MARKED] = g_signal_new("marked", SR_TYPE_TAKE_STRIP, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                 NULL, G_TYPE_NONE, 2, G_TYPE_DOUBLE, G_TYPE_DOUBLE);
  signals[MOVED] = g_signal_new("moved", SR_TYPE_TAKE_STRIP, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                                G_TYPE_NONE, 0);
}

static void
add_pointer(SrTakeStrip* const strip)
{
  GtkWidget* const widget = GTK_WIDGET(strip);
  GtkGesture* const drag = gtk_gesture_drag_new();
  g_signal_connect(drag, "drag-begin", G_CALLBACK(begin_drag), strip);
  g_signal_connect(drag, "drag-update", G_CALLBACK(update_drag), strip);
  g_signal_connect(drag, "drag-end", G_CALLBACK(end_drag), strip);
  gtk_widget_add_controller(widget, GTK_EVENT_CONTROLLER(drag));
  GtkEventController* const motion = gtk_event_controller_motion_new();
  g_signal_connect(motion, "motion", G_CALLBACK(move_pointer), strip);
  gtk_widget_add_controller(widget, motion);
  GtkEventController* const wheel =
      gtk_event_controller_scroll_new(GTK_EVENT_CONTROLLER_SCROLL_BOTH_AXES);
  g_signal_connect(wheel, "scroll", G_CALLBACK(turn_wheel), strip);
  gtk_widget_add_controller(widget, wheel);
}

static void
sr_take_strip_init(SrTakeStrip* const strip)
{
  GtkEventController* const keys = gtk_event_controller_key_new();
  strip->scale = sr_time_scale_all(1.0, 0.0);
  strip->line_s = (double)NAN;
  strip->layout = gtk_widget_create_pango_layout(GTK_WIDGET(strip), NULL);
  add_pointer(strip);
  g_signal_connect(keys, "key-pressed", G_CALLBACK(press_key), strip);
  gtk_widget_add_controller(GTK_WIDGET(strip), keys);
  gtk_widget_set_overflow(GTK_WIDGET(strip), GTK_OVERFLOW_HIDDEN);
  say_marked(strip);
}
