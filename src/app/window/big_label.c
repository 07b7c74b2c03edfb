// SPDX-License-Identifier: GPL-3.0-or-later

#include "big_label.h"

/// Smallest size of letters, and steps of the search for the largest.
#define LEAST 10.0
#define HALVINGS 12
#define USUAL_MOST 120.0

struct _SrBigLabel {
  GtkWidget parent_instance;
  char* text;
  PangoLayout* layout;
  double most;
  double size;
  gboolean fault;
  gboolean bold;
  gboolean centred;
};

G_DEFINE_FINAL_TYPE(SrBigLabel, sr_big_label, GTK_TYPE_WIDGET)

/// Lay the text out at a size; `width` and `height` receive what it takes.
static void
lay_out(SrBigLabel* const label, const double size, const int within, int* const width,
        int* const height)
{
  PangoContext* const context = gtk_widget_get_pango_context(GTK_WIDGET(label));
  PangoFontDescription* const font =
      pango_font_description_copy(pango_context_get_font_description(context));
  pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
  pango_font_description_set_weight(font, label->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_layout_set_font_description(label->layout, font);
  pango_font_description_free(font);
  pango_layout_set_width(label->layout, within * PANGO_SCALE);
  pango_layout_set_alignment(label->layout, label->centred ? PANGO_ALIGN_CENTER : PANGO_ALIGN_LEFT);
  pango_layout_get_pixel_size(label->layout, width, height);
}

/// Whether no word is broken, nor any line too long, and the height is enough.
static gboolean
fits(SrBigLabel* const label, const double size, const int width, const int height)
{
  int wide = 0;
  int high = 0;
  lay_out(label, size, width, &wide, &high);
  return wide <= width && high <= height;
}

static void
find_size(SrBigLabel* const label, const int width, const int height)
{
  double low = LEAST;
  double high = MAX(LEAST, MIN(label->most, height));
  if (fits(label, high, width, height)) {
    low = high;
  }
  for (int i = 0; i < HALVINGS && high - low > 0.5; ++i) {
    const double middle = (low + high) / 2.0;
    if (fits(label, middle, width, height)) {
      low = middle;
    } else {
      high = middle;
    }
  }
  label->size = low;
}

double
sr_big_label_height(SrBigLabel* const label, const double size, const int width)
{
  int wide = 0;
  int high = 0;
  lay_out(label, size, width, &wide, &high);
  return high;
}

double
sr_big_label_size(SrBigLabel* const label)
{
  return label->size;
}

/// The least width that needs no more lines, so that no word is alone on the last one.
static int
balance(SrBigLabel* const label, const int width)
{
  int wide = 0;
  int high = 0;
  int taken = 0;
  int narrow = 0;
  lay_out(label, label->size, width, &wide, &high);
  if (pango_layout_get_line_count(label->layout) < 2) {
    return width;
  }
  for (int low = width / 3, most = width; low <= most;) {
    const int middle = (low + most) / 2;
    lay_out(label, label->size, middle, &wide, &taken);
    if (taken <= high && wide <= middle) {
      narrow = middle;
      most = middle - 1;
    } else {
      low = middle + 1;
    }
  }
  return narrow > 0 ? narrow : width;
}

static void
label_snapshot(GtkWidget* const widget, GtkSnapshot* const snapshot)
{
  SrBigLabel* const label = SR_BIG_LABEL(widget);
  const int width = gtk_widget_get_width(widget);
  const int height = gtk_widget_get_height(widget);
  if (!label->text[0] || width <= 0 || height <= 0) {
    return;
  }
  int wide = 0;
  int high = 0;
  find_size(label, width, height);
  const int narrowest = balance(label, width);
  lay_out(label, label->size, narrowest, &wide, &high);
  GdkRGBA colour;
  gtk_style_context_get_color(gtk_widget_get_style_context(widget), &colour);
  const float left = label->centred ? (float)(width - narrowest) / 2.0f : 0.0f;
  const graphene_point_t corner = GRAPHENE_POINT_INIT(left, MAX(0.0f, (float)(height - high) / 2));
  gtk_snapshot_translate(snapshot, &corner);
  gtk_snapshot_append_layout(snapshot, label->layout, &colour);
}

static void
label_measure(GtkWidget* const widget, const GtkOrientation orientation, const int for_size,
              int* const least, int* const natural, int* const least_baseline,
              int* const natural_baseline)
{
  (void)widget;
  (void)for_size;
  *least = orientation == GTK_ORIENTATION_HORIZONTAL ? 60 : 16;
  *natural = orientation == GTK_ORIENTATION_HORIZONTAL ? 600 : 80;
  *least_baseline = -1;
  *natural_baseline = -1;
}

void
sr_big_label_say(SrBigLabel* const label, const char* const text)
{
  const char* const words = text ? text : "";
  if (g_strcmp0(label->text, words) == 0) {
    return;
  }
  g_free(label->text);
  label->text = g_strdup(words);
  pango_layout_set_text(label->layout, words, -1);
  gtk_accessible_update_property(GTK_ACCESSIBLE(label), GTK_ACCESSIBLE_PROPERTY_LABEL, words, -1);
  // Its place depends on its length
  gtk_widget_queue_resize(GTK_WIDGET(label));
}

const char*
sr_big_label_text(SrBigLabel* const label)
{
  return label->text;
}

void
sr_big_label_limit(SrBigLabel* const label, const double most)
{
  label->most = most;
}

void
sr_big_label_set_fault(SrBigLabel* const label, const gboolean fault)
{
  if (fault) {
    gtk_widget_add_css_class(GTK_WIDGET(label), "fault");
  } else {
    gtk_widget_remove_css_class(GTK_WIDGET(label), "fault");
  }
}

void
sr_big_label_set_bold(SrBigLabel* const label, const gboolean bold)
{
  label->bold = bold;
}

void
sr_big_label_centre(SrBigLabel* const label, const gboolean centred)
{
  if (label->centred != centred) {
    label->centred = centred;
    gtk_widget_queue_draw(GTK_WIDGET(label));
  }
}

static void
label_finalize(GObject* const object)
{
  SrBigLabel* const label = SR_BIG_LABEL(object);
  g_free(label->text);
  g_object_unref(label->layout);
  G_OBJECT_CLASS(sr_big_label_parent_class)->finalize(object);
}

static void
sr_big_label_class_init(SrBigLabelClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = label_finalize;
  widget->snapshot = label_snapshot;
  widget->measure = label_measure;
  gtk_widget_class_set_accessible_role(widget, GTK_ACCESSIBLE_ROLE_STATUS);
  gtk_widget_class_set_css_name(widget, "big");
}

static void
sr_big_label_init(SrBigLabel* const label)
{
  label->text = g_strdup("");
  label->most = USUAL_MOST;
  label->bold = TRUE;
  label->layout = gtk_widget_create_pango_layout(GTK_WIDGET(label), NULL);
  pango_layout_set_wrap(label->layout, PANGO_WRAP_WORD);
}

GtkWidget*
sr_big_label_new(void)
{
  return GTK_WIDGET(g_object_new(SR_TYPE_BIG_LABEL, NULL));
}
