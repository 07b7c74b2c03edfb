// SPDX-License-Identifier: GPL-3.0-or-later

#include "progress_area.h"

#include <adwaita.h>
#include <math.h>

/// Natural width, pixels of the window.
#define NATURAL 640

struct _SrProgressArea {
  GtkWidget parent_instance;
  SrPicturedProgress pictured; ///< Without days for nothing
  SrProgressPicture* picture;  ///< As last laid out
  int width;                   ///< ... for this width
  gboolean dark;
};

G_DEFINE_FINAL_TYPE(SrProgressArea, sr_progress_area, GTK_TYPE_WIDGET)

/// The picture for a width; NULL for none.
static SrProgressPicture*
lay_out(SrProgressArea* const area, const int width)
{
  const gboolean dark = adw_style_manager_get_dark(adw_style_manager_get_default());
  if (area->picture && area->width == width && area->dark == dark) {
    return area->picture;
  }
  const SrProgressStyle style = {.dark = dark};
  g_clear_pointer(&area->picture, sr_progress_picture_del);
  area->width = width;
  area->dark = dark;
  if (area->pictured.day_count && width >= (int)SR_PROGRESS_LEAST_WIDTH) {
    (void)sr_progress_picture_new(&area->pictured, &style, width, (double)INFINITY, &area->picture,
                                  NULL);
  }
  return area->picture;
}

static void
say_words(SrProgressArea* const area)
{
  char words[SR_PROGRESS_WORDS_SIZE] = "Nothing to show";
  if (lay_out(area, area->width > 0 ? area->width : NATURAL)) {
    (void)sr_progress_picture_words(area->picture, words);
  }
  gtk_accessible_update_property(GTK_ACCESSIBLE(area), GTK_ACCESSIBLE_PROPERTY_LABEL, words, -1);
}

void
sr_progress_area_show(SrProgressArea* const area, const SrPicturedProgress* const pictured)
{
  area->pictured = pictured ? *pictured : (SrPicturedProgress){0};
  g_clear_pointer(&area->picture, sr_progress_picture_del);
  say_words(area);
  gtk_widget_queue_resize(GTK_WIDGET(area));
}

static GtkSizeRequestMode
area_request_mode(GtkWidget* const widget)
{
  (void)widget;
  return GTK_SIZE_REQUEST_HEIGHT_FOR_WIDTH;
}

static void
area_measure(GtkWidget* const widget, const GtkOrientation orientation, const int for_size,
             int* const least, int* const natural, int* const least_baseline,
             int* const natural_baseline)
{
  SrProgressArea* const area = SR_PROGRESS_AREA(widget);
  *least_baseline = *natural_baseline = -1;
  if (orientation == GTK_ORIENTATION_HORIZONTAL) {
    *least = (int)SR_PROGRESS_LEAST_WIDTH;
    *natural = NATURAL;
    return;
  }
  const SrProgressPicture* const picture = lay_out(area, for_size > 0 ? for_size : NATURAL);
  *least = *natural = picture ? (int)ceil(sr_progress_picture_height(picture)) + 1 : 0;
}

static void
area_snapshot(GtkWidget* const widget, GtkSnapshot* const snapshot)
{
  const int width = gtk_widget_get_width(widget);
  const int height = gtk_widget_get_height(widget);
  const SrProgressPicture* const picture = lay_out(SR_PROGRESS_AREA(widget), width);
  if (picture) {
    // Letters may reach a little over its edges
    const graphene_rect_t all =
        GRAPHENE_RECT_INIT(-4.0f, -4.0f, (float)width + 8.0f, (float)height + 8.0f);
    cairo_t* const cairo = gtk_snapshot_append_cairo(snapshot, &all);
    (void)sr_progress_picture_draw(picture, cairo, 0.0, 0.0);
    cairo_destroy(cairo);
  }
}

static void
follow_dark(SrProgressArea* const area)
{
  gtk_widget_queue_draw(GTK_WIDGET(area));
}

static void
area_dispose(GObject* const object)
{
  g_clear_pointer(&SR_PROGRESS_AREA(object)->picture, sr_progress_picture_del);
  G_OBJECT_CLASS(sr_progress_area_parent_class)->dispose(object);
}

static void
sr_progress_area_class_init(SrProgressAreaClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = area_dispose;
  widget->get_request_mode = area_request_mode;
  widget->measure = area_measure;
  widget->snapshot = area_snapshot;
  gtk_widget_class_set_accessible_role(widget, GTK_ACCESSIBLE_ROLE_IMG);
  gtk_widget_class_set_css_name(widget, "progress-picture");
}

static void
sr_progress_area_init(SrProgressArea* const area)
{
  g_signal_connect_object(adw_style_manager_get_default(), "notify::dark", G_CALLBACK(follow_dark),
                          area, G_CONNECT_SWAPPED);
}
