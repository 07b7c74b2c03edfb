// SPDX-License-Identifier: GPL-3.0-or-later

#include "input_meter.h"

#include "../terminal_view.h"

#include <math.h>

/// Ends of the scale and of its good part, dBFS (common practice, no source).
#define LEAST_DB (-60.0)
#define GOOD_FROM_DB (-40.0)
#define GOOD_TO_DB (-4.0)
/// Playing whose loudest sample stays below this is too soft, dBFS.
#define SOFT_DB (-40.0)
/// Without input for this long, s, a microphone is dead.
#define DEAD_AFTER_S 5.0
/// A hint about loudness stays for this long, s.
#define STAYS_S 8.0
/// How fast the mark falls, dB for each level.
#define FALL_DB 3.0

struct _SrInputMeter {
  GtkWidget parent_instance;
  double level_db;
  double played_db; ///< Loudest of the round that goes on, or the last
  gboolean plays;
  double alive_s; ///< When there was input last
  double loud_s;  ///< When it was overdriven last
  double now_s;
};

G_DEFINE_FINAL_TYPE(SrInputMeter, sr_input_meter, GTK_TYPE_WIDGET)

void
sr_input_meter_take(SrInputMeter* const meter, const float peak, const gboolean overdriven,
                    const gboolean plays, const double now_s)
{
  const double db = 20.0 * log10((double)peak + 1e-9);
  const double shown = fmax(db, meter->level_db - FALL_DB);
  meter->now_s = now_s;
  meter->alive_s = peak > SR_DEAD_LEVEL ? now_s : meter->alive_s;
  meter->loud_s = overdriven ? now_s : meter->loud_s;
  if (plays) {
    meter->played_db = meter->plays ? fmax(meter->played_db, db) : db;
  }
  meter->plays = plays;
  // No drawing where nothing moves
  if (fabs(shown - meter->level_db) >= 0.5 && gtk_widget_get_mapped(GTK_WIDGET(meter))) {
    gtk_widget_queue_draw(GTK_WIDGET(meter));
  }
  meter->level_db = shown;
}

void
sr_input_meter_reset(SrInputMeter* const meter)
{
  meter->level_db = LEAST_DB;
  meter->played_db = 0.0;
  meter->alive_s = 0.0;
  meter->loud_s = (double)-INFINITY;
  meter->now_s = 0.0;
  gtk_widget_queue_draw(GTK_WIDGET(meter));
}

SrInputState
sr_input_meter_state(SrInputMeter* const meter)
{
  return meter->now_s - meter->alive_s > DEAD_AFTER_S  ? SR_INPUT_DEAD
         : meter->now_s - meter->loud_s < STAYS_S      ? SR_INPUT_LOUD
         : !meter->plays && meter->played_db < SOFT_DB ? SR_INPUT_SOFT
                                                       : SR_INPUT_GOOD;
}

static float
share_of(const double db)
{
  return (float)CLAMP((db - LEAST_DB) / -LEAST_DB, 0.0, 1.0);
}

static void
meter_snapshot(GtkWidget* const widget, GtkSnapshot* const snapshot)
{
  SrInputMeter* const meter = SR_INPUT_METER(widget);
  const float width = (float)gtk_widget_get_width(widget);
  const float height = (float)gtk_widget_get_height(widget);
  const float thick = fminf(14.0f, height);
  const float top = (height - thick) / 2.0f;
  GdkRGBA ink;
  gtk_style_context_get_color(gtk_widget_get_style_context(widget), &ink);
  GdkRGBA shade = ink;
  shade.alpha = 0.18f;
  const float from = width * share_of(GOOD_FROM_DB);
  const graphene_rect_t good =
      GRAPHENE_RECT_INIT(from, top, width * share_of(GOOD_TO_DB) - from, thick);
  gtk_snapshot_append_color(snapshot, &shade, &good);
  const GskRoundedRect frame = {.bounds = GRAPHENE_RECT_INIT(0.0f, top, width, thick)};
  const float borders[4] = {1.0f, 1.0f, 1.0f, 1.0f};
  GdkRGBA line = ink;
  line.alpha = 0.55f;
  const GdkRGBA colours[4] = {line, line, line, line};
  gtk_snapshot_append_border(snapshot, &frame, borders, colours);
  const graphene_rect_t mark = GRAPHENE_RECT_INIT(
      fmaxf(0.0f, width * share_of(meter->level_db) - 3.0f), top - 4.0f, 6.0f, thick + 8.0f);
  gtk_snapshot_append_color(snapshot, &ink, &mark);
}

static void
meter_measure(GtkWidget* const widget, const GtkOrientation orientation, const int for_size,
              int* const least, int* const natural, int* const least_baseline,
              int* const natural_baseline)
{
  (void)widget;
  (void)for_size;
  *least = orientation == GTK_ORIENTATION_HORIZONTAL ? 100 : 22;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 300 : 24;
  *least_baseline = -1;
  *natural_baseline = -1;
}

static void
sr_input_meter_class_init(SrInputMeterClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  widget->snapshot = meter_snapshot;
  widget->measure = meter_measure;
  gtk_widget_class_set_accessible_role(widget, GTK_ACCESSIBLE_ROLE_IMG);
  gtk_widget_class_set_css_name(widget, "meter");
}

static void
sr_input_meter_init(SrInputMeter* const meter)
{
  sr_input_meter_reset(meter);
  gtk_accessible_update_property(GTK_ACCESSIBLE(meter), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 "Level of the microphone", -1);
}

GtkWidget*
sr_input_meter_new(void)
{
  return GTK_WIDGET(g_object_new(SR_TYPE_INPUT_METER, NULL));
}
