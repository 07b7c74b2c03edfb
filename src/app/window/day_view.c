// SPDX-License-Identifier: GPL-3.0-or-later

#include "day_view.h"

#include "day_row.h"

#include <math.h>

/// Files that are not there and are named.
#define MOST_NAMED 3u

struct _SrDayView {
  AdwWindow parent_instance;
  AdwWindowTitle* title;
  GtkLabel* status;
  GtkLabel* caution;
  GtkListBox* list;
  GtkLabel* gone;
  GtkButton* begin;
  SrDay* day; ///< NULL until it was read
  double pause_s;
  GtkWidget* rows[SR_TODAY_MOST];
};

G_DEFINE_FINAL_TYPE(SrDayView, sr_day_view, ADW_TYPE_WINDOW)

enum { BEGIN, SIGNALS };
static guint signals[SIGNALS];

static size_t
count_of(const SrDayView* const view)
{
  return view->day ? view->day->count : 0;
}

/// Say how long what is wanted takes, and what of it comes next.
static void
show_wanted(SrDayView* const view)
{
  double minutes = 0.0;
  bool any = false;
  for (size_t i = 0; i < count_of(view); ++i) {
    SrDayRow* const row = SR_DAY_ROW(view->rows[i]);
    const bool wanted = sr_day_row_is_wanted(row);
    minutes += wanted ? view->day->items[i].minutes + view->pause_s / 60.0 : 0.0;
    sr_day_row_set_next(row, wanted && !any);
    any = any || wanted;
  }
  char words[64];
  g_snprintf(words, sizeof(words), "%.0f minutes with the pauses", ceil(minutes));
  adw_window_title_set_subtitle(view->title, any ? words : "");
  g_snprintf(words, sizeof(words), "Begin: %.0f minutes", ceil(minutes));
  gtk_button_set_label(view->begin, any ? words : "Begin");
  gtk_widget_set_sensitive(GTK_WIDGET(view->begin), any);
}

static void
play(SrDayView* const view, const gboolean wanted[SR_TODAY_MOST])
{
  SrDay* const day = g_steal_pointer(&view->day);
  g_signal_emit(view, signals[BEGIN], 0, day, wanted);
  gtk_window_destroy(GTK_WINDOW(view));
}

static void
begin(SrDayView* const view)
{
  gboolean wanted[SR_TODAY_MOST] = {FALSE};
  for (size_t i = 0; i < count_of(view); ++i) {
    wanted[i] = sr_day_row_is_wanted(SR_DAY_ROW(view->rows[i]));
  }
  play(view, wanted);
}

static void
play_alone(GtkWidget* const row, SrDayView* const view)
{
  gboolean wanted[SR_TODAY_MOST] = {FALSE};
  for (size_t i = 0; i < count_of(view); ++i) {
    wanted[i] = view->rows[i] == row;
  }
  play(view, wanted);
}

static bool
is_all_done(const SrDay* const day)
{
  bool all = day->count > 0;
  for (size_t i = 0; i < day->count; ++i) {
    all = all && day->today[i].done;
  }
  return all;
}

static void
show_gone(SrDayView* const view)
{
  const SrTodaySources* const sources = &view->day->sources;
  GString* const words = g_string_new(NULL);
  if (sources->trouble.status != SR_OK) {
    char trouble[SR_ERROR_FILE_SIZE + SR_ERROR_MESSAGE_SIZE];
    (void)sr_error_print(&sources->trouble, trouble, sizeof(trouble));
    g_string_append(words, trouble);
  }
  for (size_t i = 0; i < sources->gone_count && i < MOST_NAMED; ++i) {
    char* const file = g_filename_display_name(sources->gone[i]);
    g_string_append_printf(words, "%sLeft out, since it is not there any more, or not readable: %s",
                           words->len ? "\n" : "", file);
    g_free(file);
  }
  if (sources->gone_count > MOST_NAMED) {
    g_string_append_printf(words, "\nand %zu more", sources->gone_count - MOST_NAMED);
  }
  gtk_label_set_label(view->gone, words->str);
  gtk_widget_set_visible(GTK_WIDGET(view->gone), words->len > 0);
  g_string_free(words, TRUE);
}

static void
show_day(SrDayView* const view)
{
  const SrDay* const day = view->day;
  const bool all_done = is_all_done(day);
  for (size_t i = 0; i < day->count; ++i) {
    GtkWidget* const row = sr_day_row_new(day, i, !day->today[i].done || all_done);
    g_signal_connect_swapped(row, "changed", G_CALLBACK(show_wanted), view);
    g_signal_connect(row, "alone", G_CALLBACK(play_alone), view);
    gtk_list_box_append(view->list, row);
    view->rows[i] = row;
  }
  gtk_label_set_label(
      view->status,
      all_done ? "All of today is done. You may play it once more."
      : day->count == 0
          ? "There is nothing to choose from: the exercises of Steadyreed are not "
            "there, and you have practised nothing of your own yet."
          : "Chosen from what you have practised, and what is new, and played one after "
            "another: your hands stay on the box. Untick what you do not want.");
  gtk_widget_set_visible(GTK_WIDGET(view->list), day->count > 0);
  if (day->sources.played_s >= SR_TODAY_REST_S) {
    gtk_label_set_label(view->caution, sr_today_rest_words);
    gtk_widget_set_visible(GTK_WIDGET(view->caution), TRUE);
  }
  show_gone(view);
  show_wanted(view);
  gtk_widget_grab_focus(GTK_WIDGET(view->begin));
}

static void
take_day(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrDayView* const view = SR_DAY_VIEW(object);
  SrDay* const day = sr_day_reading_finish(result);
  if (!gtk_widget_get_visible(GTK_WIDGET(view))) {
    sr_day_free(day); // It was closed meanwhile
    return;
  }
  view->day = day;
  if (day->error.status != SR_OK) {
    gtk_label_set_label(view->status, day->error.message);
    return;
  }
  show_day(view);
}

static void
view_finalize(GObject* const object)
{
  sr_day_free(SR_DAY_VIEW(object)->day);
  G_OBJECT_CLASS(sr_day_view_parent_class)->finalize(object);
}

static void
sr_day_view_class_init(SrDayViewClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = view_finalize;
  signals[BEGIN] = g_signal_new("begin", SR_TYPE_DAY_VIEW, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                                G_TYPE_NONE, 2, G_TYPE_POINTER, G_TYPE_POINTER);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/day_view.ui");
  gtk_widget_class_bind_template_child(widget, SrDayView, title);
  gtk_widget_class_bind_template_child(widget, SrDayView, status);
  gtk_widget_class_bind_template_child(widget, SrDayView, caution);
  gtk_widget_class_bind_template_child(widget, SrDayView, list);
  gtk_widget_class_bind_template_child(widget, SrDayView, gone);
  gtk_widget_class_bind_template_child(widget, SrDayView, begin);
  gtk_widget_class_bind_template_callback(widget, begin);
  gtk_widget_class_add_binding_action(widget, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
sr_day_view_init(SrDayView* const view)
{
  gtk_widget_init_template(GTK_WIDGET(view));
}

GtkWidget*
sr_day_view_new(GtkWindow* const parent, const double pause_s)
{
  SrDayView* const view =
      SR_DAY_VIEW(g_object_new(SR_TYPE_DAY_VIEW, "transient-for", parent, "modal", TRUE, NULL));
  view->pause_s = pause_s;
  sr_day_reading_begin(G_OBJECT(view), take_day);
  return GTK_WIDGET(view);
}
