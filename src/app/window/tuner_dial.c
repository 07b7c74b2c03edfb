// SPDX-License-Identifier: GPL-3.0-or-later

#include "tuner_dial.h"

#include <steadyreed/show.h>

#include <math.h>
#include <stdlib.h>

/// The scale, cents to either side, and from tick to tick.
#define SCALE_CENTS 50.0
#define TICK_CENTS 10
/// Shares of the height: the name, the scale; the rest is for the figures under it.
#define NAME_SHARE 0.52f
#define SCALE_SHARE 0.24f
/// The name is at most this share of the width: "F♯4" is 1.9 times as wide as its letters are high.
#define NAME_WIDTH 0.42f
/// Free at either side of the scale, for the numbers at its ends.
#define SIDE 28.0f
/// Width of the mark, a share of the scale's, and at least.
#define MARK_SHARE 0.007f
#define MARK_LEAST 8.0f

struct _SrTunerDial {
  GtkWidget parent_instance;
  SrTunerReading reading;
  PangoLayout* layout;
};

G_DEFINE_FINAL_TYPE(SrTunerDial, sr_tuner_dial, GTK_TYPE_WIDGET)

void
sr_tuner_dial_show(SrTunerDial* const dial, const SrTunerReading* const reading)
{
  if (!sr_tuner_same(&dial->reading, reading)) {
    dial->reading = *reading;
    gtk_widget_queue_draw(GTK_WIDGET(dial));
  }
}

/// Words about the middle of a place, as large as a height allows.
static void
draw_words(SrTunerDial* const dial, GtkSnapshot* const snapshot, const char* const words,
           const float size, const graphene_point_t middle, const GdkRGBA* const colour)
{
  PangoContext* const context = gtk_widget_get_pango_context(GTK_WIDGET(dial));
  PangoFontDescription* const font =
      pango_font_description_copy(pango_context_get_font_description(context));
  int width = 0;
  int height = 0;
  pango_font_description_set_absolute_size(font, (double)size * PANGO_SCALE);
  pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
  pango_layout_set_font_description(dial->layout, font);
  pango_font_description_free(font);
  pango_layout_set_text(dial->layout, words, -1);
  pango_layout_get_pixel_size(dial->layout, &width, &height);
  const graphene_point_t corner =
      GRAPHENE_POINT_INIT(middle.x - (float)width / 2.0f, middle.y - (float)height / 2.0f);
  gtk_snapshot_save(snapshot);
  gtk_snapshot_translate(snapshot, &corner);
  gtk_snapshot_append_layout(snapshot, dial->layout, colour);
  gtk_snapshot_restore(snapshot);
}

static void
draw_block(GtkSnapshot* const snapshot, const GdkRGBA* const colour, const float left,
           const float top, const float width, const float height)
{
  const graphene_rect_t block = GRAPHENE_RECT_INIT(left, top, width, height);
  gtk_snapshot_append_color(snapshot, colour, &block);
}

/// Where a number of cents is on the scale.
static float
place_of(const float width, const double cents)
{
  return SIDE + (width - 2.0f * SIDE) * (float)((cents + SCALE_CENTS) / (2.0 * SCALE_CENTS));
}

static void
draw_scale(GtkSnapshot* const snapshot, const GdkRGBA* const ink, const float width,
           const float top, const float height)
{
  GdkRGBA shade = *ink;
  GdkRGBA line = *ink;
  shade.alpha = 0.20f;
  line.alpha = 0.7f;
  const float from = place_of(width, -SR_TUNER_JUST_CENTS);
  draw_block(snapshot, &shade, from, top, place_of(width, SR_TUNER_JUST_CENTS) - from, height);
  draw_block(snapshot, &line, SIDE, top + height - 2.0f, width - 2.0f * SIDE, 2.0f);
  for (int cents = -(int)SCALE_CENTS; cents <= (int)SCALE_CENTS; cents += TICK_CENTS) {
    const float share = cents == 0 ? 1.0f : cents % 50 == 0 ? 0.6f : 0.35f;
    draw_block(snapshot, &line, place_of(width, cents) - 1.0f, top + (1.0f - share) * height, 2.0f,
               share * height);
  }
}

static void
draw_figures(SrTunerDial* const dial, GtkSnapshot* const snapshot, const GdkRGBA* const ink,
             const graphene_point_t middle, const float size)
{
  char words[64];
  const long cents = lround(dial->reading.cents);
  g_snprintf(words, sizeof(words), "%s%ld cents · %.1f Hz",
             cents > 0   ? "+"
             : cents < 0 ? "−"
                         : "",
             labs(cents), dial->reading.hz);
  draw_words(dial, snapshot, words, size, middle, ink);
}

static void
dial_snapshot(GtkWidget* const widget, GtkSnapshot* const snapshot)
{
  SrTunerDial* const dial = SR_TUNER_DIAL(widget);
  const SrTunerReading* const reading = &dial->reading;
  const float width = (float)gtk_widget_get_width(widget);
  const float height = (float)gtk_widget_get_height(widget);
  const SrShowStyle style = {.unicode = true};
  char name[SR_MIDI_NAME_SIZE] = "";
  GdkRGBA ink;
  gtk_style_context_get_color(gtk_widget_get_style_context(widget), &ink);
  GdkRGBA faint = ink;
  faint.alpha = 0.55f;
  const float scale_top = NAME_SHARE * height;
  const float scale_height = SCALE_SHARE * height;
  const float ends = fminf(16.0f, 0.05f * width);
  const float below = scale_top + scale_height;
  draw_scale(snapshot, &ink, width, scale_top, scale_height);
  draw_words(dial, snapshot, "−50", ends,
             GRAPHENE_POINT_INIT(place_of(width, -SCALE_CENTS), below + ends), &faint);
  draw_words(dial, snapshot, "+50", ends,
             GRAPHENE_POINT_INIT(place_of(width, SCALE_CENTS), below + ends), &faint);
  if (reading->midi >= 0) {
    sr_show_midi_name(reading->midi, &style, name);
    const float mark = place_of(width, reading->cents);
    const float mark_width = fmaxf(MARK_LEAST, MARK_SHARE * width);
    draw_block(snapshot, &ink, mark - mark_width / 2.0f, scale_top - 6.0f, mark_width,
               scale_height + 6.0f);
    draw_figures(dial, snapshot, &ink,
                 GRAPHENE_POINT_INIT(width / 2.0f, below + 0.6f * (height - below)),
                 fminf(0.075f * width, 0.5f * (height - below)));
    draw_words(dial, snapshot, name, fminf(0.74f * scale_top, NAME_WIDTH * width),
               GRAPHENE_POINT_INIT(width / 2.0f, scale_top / 2.0f), &ink);
  }
}

static void
dial_measure(GtkWidget* const widget, const GtkOrientation orientation, const int for_size,
             int* const least, int* const natural, int* const least_baseline,
             int* const natural_baseline)
{
  (void)widget;
  (void)for_size;
  *least = orientation == GTK_ORIENTATION_HORIZONTAL ? 240 : 180;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 800 : 500;
  *least_baseline = -1;
  *natural_baseline = -1;
}

static void
dial_finalize(GObject* const object)
{
  g_object_unref(SR_TUNER_DIAL(object)->layout);
  G_OBJECT_CLASS(sr_tuner_dial_parent_class)->finalize(object);
}

static void
sr_tuner_dial_class_init(SrTunerDialClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = dial_finalize;
  widget->snapshot = dial_snapshot;
  widget->measure = dial_measure;
  gtk_widget_class_set_accessible_role(widget, GTK_ACCESSIBLE_ROLE_IMG);
  gtk_widget_class_set_css_name(widget, "dial");
}

static void
sr_tuner_dial_init(SrTunerDial* const dial)
{
  dial->reading.midi = -1;
  dial->layout = gtk_widget_create_pango_layout(GTK_WIDGET(dial), NULL);
  gtk_widget_set_focusable(GTK_WIDGET(dial), TRUE);
  gtk_accessible_update_property(GTK_ACCESSIBLE(dial), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 "The note, and a scale of 50 cents to either side", -1);
}

GtkWidget*
sr_tuner_dial_new(void)
{
  return GTK_WIDGET(g_object_new(SR_TYPE_TUNER_DIAL, NULL));
}
