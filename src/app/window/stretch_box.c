// SPDX-License-Identifier: GPL-3.0-or-later

#include "stretch_box.h"

#include "../option_values.h"
#include "flow_cells.h"
#include "take_strip.h"
#include "time_scale.h"

#include <math.h>

/// What is marked at first, s: some bars, or all of a recording not much longer.
#define FIRST_S 8.0
#define WHOLE_S 16.0
/// The stretch is at least this long, s.
#define LEAST_S 0.1
/// The line's steps without motion, s.
#define STILL_S 0.5
/// A button shows more or less by this.
#define ZOOM 2.0

struct _SrStretchBox {
  GtkBox parent_instance;
  SrTakeStrip* strip;
  GtkWidget* bar;
  GtkFlowBox* controls;
  GtkAdjustment* part;
  GtkSpinButton* from;
  GtkSpinButton* to;
  GtkWidget* from_here;
  GtkWidget* to_here;
  double seconds; ///< Of the recording
  double line_s;
  gboolean showing; ///< The program changes it, not the player
};

G_DEFINE_FINAL_TYPE(SrStretchBox, sr_stretch_box, GTK_TYPE_BOX)

enum { CHANGED, SIGNALS };
static guint signals[SIGNALS];

static void
set_stretch(SrStretchBox* const box, const double from_s, const double to_s)
{
  box->showing = TRUE;
  gtk_spin_button_set_value(box->from, from_s);
  gtk_spin_button_set_value(box->to, to_s);
  box->showing = FALSE;
  sr_take_strip_mark(box->strip, from_s, to_s);
}

/// The end that was moved pushes the other one.
static void
set_end(SrStretchBox* const box, const gboolean last)
{
  double from_s = gtk_spin_button_get_value(box->from);
  double to_s = gtk_spin_button_get_value(box->to);
  if (box->showing) {
    return;
  }
  if (last) {
    from_s = fmin(from_s, to_s - LEAST_S);
  } else {
    to_s = fmax(to_s, from_s + LEAST_S);
  }
  set_stretch(box, from_s, to_s);
  g_signal_emit(box, signals[CHANGED], 0);
}

static void
from_changed(SrStretchBox* const box)
{
  set_end(box, FALSE);
}

static void
to_changed(SrStretchBox* const box)
{
  set_end(box, TRUE);
}

static void
take_marked(SrTakeStrip* const strip, const double from_s, const double to_s,
            SrStretchBox* const box)
{
  (void)strip;
  set_stretch(box, from_s, to_s);
  g_signal_emit(box, signals[CHANGED], 0);
}

static int
read_time(GtkSpinButton* const spin, double* const value, SrStretchBox* const box)
{
  (void)box;
  char* const words = g_strstrip(g_strdup(gtk_editable_get_text(GTK_EDITABLE(spin))));
  const double now_s = gtk_spin_button_get_value(spin);
  char shown[SR_TIME_WORDS_SIZE];
  sr_time_words(now_s, true, shown);
  // Text that nobody has changed must not round what was marked to tenths
  const bool same = g_str_equal(words, shown);
  const bool good = same || sr_value_time(words, value);
  if (same) {
    *value = now_s;
  }
  g_free(words);
  return good ? TRUE : GTK_INPUT_ERROR;
}

static gboolean
write_time(GtkSpinButton* const spin, SrStretchBox* const box)
{
  (void)box;
  char words[SR_TIME_WORDS_SIZE];
  sr_time_words(gtk_spin_button_get_value(spin), true, words);
  if (!g_str_equal(words, gtk_editable_get_text(GTK_EDITABLE(spin)))) {
    gtk_editable_set_text(GTK_EDITABLE(spin), words);
  }
  gtk_accessible_update_property(GTK_ACCESSIBLE(spin), GTK_ACCESSIBLE_PROPERTY_VALUE_TEXT, words,
                                 -1);
  return TRUE;
}

void
sr_stretch_box_end_here(SrStretchBox* const box, const gboolean last)
{
  if (isfinite(box->line_s)) {
    gtk_spin_button_set_value(last ? box->to : box->from, box->line_s);
  }
}

static void
begin_here(SrStretchBox* const box)
{
  sr_stretch_box_end_here(box, FALSE);
}

static void
end_here(SrStretchBox* const box)
{
  sr_stretch_box_end_here(box, TRUE);
}

static void
part_changed(SrStretchBox* const box)
{
  if (!box->showing) {
    sr_take_strip_move(box->strip, gtk_adjustment_get_value(box->part));
  }
}

static void
show_part(SrStretchBox* const box)
{
  double from_s = 0.0;
  double shown_s = 0.0;
  sr_take_strip_part(box->strip, &from_s, &shown_s);
  const gboolean showing = box->showing;
  box->showing = TRUE;
  gtk_adjustment_configure(box->part, from_s, 0.0, box->seconds, shown_s / 10.0, shown_s / 2.0,
                           shown_s);
  box->showing = showing;
}

static void
zoom_in(SrStretchBox* const box)
{
  sr_take_strip_zoom(box->strip, 1.0 / ZOOM);
}

static void
zoom_out(SrStretchBox* const box)
{
  sr_take_strip_zoom(box->strip, ZOOM);
}

static void
zoom_stretch(SrStretchBox* const box)
{
  sr_take_strip_fit(box->strip, FALSE);
}

static void
zoom_all(SrStretchBox* const box)
{
  sr_take_strip_fit(box->strip, TRUE);
}

void
sr_stretch_box_show(SrStretchBox* const box, const SrTakeOutline* const outline)
{
  const double seconds = outline ? sr_take_outline_seconds(outline) : 1.0;
  const double first_s = outline ? sr_take_outline_first_sound(outline) : 0.0;
  // A pause before the first note is room for its start
  const double from_s = floor(10.0 * fmax(0.0, first_s - 0.1)) / 10.0;
  const bool whole = seconds <= WHOLE_S;
  box->seconds = seconds;
  sr_take_strip_show(box->strip, outline);
  box->showing = TRUE;
  gtk_spin_button_set_range(box->from, 0.0, fmax(0.0, seconds - LEAST_S));
  gtk_spin_button_set_range(box->to, fmin(LEAST_S, seconds), seconds);
  box->showing = FALSE;
  set_stretch(box, whole ? 0.0 : from_s, whole ? seconds : fmin(seconds, from_s + FIRST_S));
  sr_stretch_box_line(box, (double)NAN);
}

void
sr_stretch_box_get(SrStretchBox* const box, double* const from_s, double* const to_s)
{
  *from_s = gtk_spin_button_get_value(box->from);
  *to_s = gtk_spin_button_get_value(box->to);
}

void
sr_stretch_box_line(SrStretchBox* const box, const double at_s)
{
  const gboolean sounds = isfinite(at_s);
  gboolean moves = TRUE;
  g_object_get(gtk_settings_get_default(), "gtk-enable-animations", &moves, NULL);
  box->line_s = at_s;
  // Where the desktop wants nothing to move it goes on in steps
  sr_take_strip_line(box->strip, moves ? at_s : floor(at_s / STILL_S) * STILL_S);
  gtk_widget_set_sensitive(box->from_here, sounds);
  gtk_widget_set_sensitive(box->to_here, sounds);
}

void
sr_stretch_box_focus(SrStretchBox* const box)
{
  gtk_widget_grab_focus(GTK_WIDGET(box->strip));
}

static void
sr_stretch_box_class_init(SrStretchBoxClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  g_type_ensure(SR_TYPE_TAKE_STRIP);
  signals[CHANGED] = g_signal_new("changed", SR_TYPE_STRETCH_BOX, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                  NULL, G_TYPE_NONE, 0);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/stretch_box.ui");
  gtk_widget_class_bind_template_child(widget, SrStretchBox, strip);
  gtk_widget_class_bind_template_child(widget, SrStretchBox, bar);
  gtk_widget_class_bind_template_child(widget, SrStretchBox, controls);
  gtk_widget_class_bind_template_child(widget, SrStretchBox, part);
  gtk_widget_class_bind_template_child(widget, SrStretchBox, from);
  gtk_widget_class_bind_template_child(widget, SrStretchBox, to);
  gtk_widget_class_bind_template_child(widget, SrStretchBox, from_here);
  gtk_widget_class_bind_template_child(widget, SrStretchBox, to_here);
  gtk_widget_class_bind_template_callback(widget, from_changed);
  gtk_widget_class_bind_template_callback(widget, to_changed);
  gtk_widget_class_bind_template_callback(widget, take_marked);
  gtk_widget_class_bind_template_callback(widget, read_time);
  gtk_widget_class_bind_template_callback(widget, write_time);
  gtk_widget_class_bind_template_callback(widget, begin_here);
  gtk_widget_class_bind_template_callback(widget, end_here);
  gtk_widget_class_bind_template_callback(widget, part_changed);
  gtk_widget_class_bind_template_callback(widget, show_part);
  gtk_widget_class_bind_template_callback(widget, zoom_in);
  gtk_widget_class_bind_template_callback(widget, zoom_out);
  gtk_widget_class_bind_template_callback(widget, zoom_stretch);
  gtk_widget_class_bind_template_callback(widget, zoom_all);
}

static void
sr_stretch_box_init(SrStretchBox* const box)
{
  box->line_s = (double)NAN;
  box->seconds = 1.0;
  gtk_widget_init_template(GTK_WIDGET(box));
  sr_flow_cells_pass_focus(box->controls);
}
