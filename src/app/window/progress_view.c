// SPDX-License-Identifier: GPL-3.0-or-later

#include "progress_view.h"

#include "night.h"
#include "progress_area.h"
#include "progress_reading.h"

#include <steadyreed/show_progress.h>

#include <limits.h>
#include <stdbool.h>
#include <string.h>

/// Size that it opens with, unless its parent is smaller.
#define WIDTH 1280
#define HEIGHT 900
#define LEAST_WIDTH 360
#define LEAST_HEIGHT 560

struct _SrProgressView {
  AdwWindow parent_instance;
  AdwToastOverlay* toasts;
  GtkStack* stack;
  AdwStatusPage* words;
  AdwLeaflet* leaflet;
  GtkWidget* list_side;
  GtkWidget* phrase_side;
  AdwWindowTitle* list_title;
  GtkListBox* list;
  AdwWindowTitle* title;
  GtkScrolledWindow* scroller;
  GtkLabel* sentence;
  GtkDropDown* range;
  GtkWidget* save;
  SrProgressArea* area;
  GtkFileChooserNative* chooser; ///< While it is open

  SrProgressReading* reading; ///< NULL until it is read
  size_t shown;               ///< Index of the phrase
};

G_DEFINE_FINAL_TYPE(SrProgressView, sr_progress_view, ADW_TYPE_WINDOW)

/// The days of the choices in the drop-down, up to the last one practised.
static const int RANGES[] = {30, 365, INT_MAX};

// The chosen phrase ------------------------------------------------------------------------------

static const SrPhraseProgress*
shown_phrase(const SrProgressView* const view)
{
  return view->reading && view->shown < view->reading->phrase_count
             ? &view->reading->phrases[view->shown]
             : NULL;
}

/// Show the days of the range that is chosen.
static void
show_days(SrProgressView* const view)
{
  const SrPhraseProgress* const phrase = shown_phrase(view);
  if (!phrase) {
    return;
  }
  const guint selected = gtk_drop_down_get_selected(view->range);
  const int days = RANGES[MIN(selected, G_N_ELEMENTS(RANGES) - 1)];
  const int last = phrase->days[phrase->day_count - 1].day;
  size_t first = phrase->day_count - 1;
  while (first > 0 && last - phrase->days[first - 1].day < days) {
    --first;
  }
  const SrPicturedProgress pictured = {
      .days = phrase->days + first,
      .day_count = phrase->day_count - first,
      .every = view->reading->every,
      .every_count = view->reading->every_count,
      .last_day = view->reading->today - last < SR_TREND_WINDOW ? view->reading->today : last};
  sr_progress_area_show(view->area, &pictured);
}

/// The title, and under it the part and the bars.
static void
show_title(SrProgressView* const view, const SrHistoryPhrase* const phrase)
{
  char words[SR_PHRASE_WORDS_SIZE];
  SrHistoryPhrase untitled = *phrase;
  untitled.title = (char[]){""};
  char* const title = g_utf8_make_valid(phrase->title, -1);
  const char* const rest = strchr(sr_show_history_phrase(&untitled, words), ',');
  adw_window_title_set_title(view->title, title[0] ? title : "Without a title");
  adw_window_title_set_subtitle(view->title, rest ? rest + 2 : "");
  g_free(title);
}

static void
show_phrase(SrProgressView* const view, const size_t index)
{
  char words[SR_TREND_WORDS_SIZE];
  view->shown = index;
  const SrPhraseProgress* const phrase = shown_phrase(view);
  if (!phrase) {
    return;
  }
  show_title(view, &phrase->phrase);
  gtk_label_set_label(view->sentence, sr_show_trends(&phrase->trends, words));
  const int span = phrase->days[phrase->day_count - 1].day - phrase->days[0].day;
  gtk_widget_set_visible(GTK_WIDGET(view->range), span >= RANGES[0]);
  gtk_adjustment_set_value(gtk_scrolled_window_get_vadjustment(view->scroller), 0.0);
  show_days(view);
}

/// The button inside a drop-down has the focus, and by itself no name.
static void
name_range(SrProgressView* const view)
{
  GtkWidget* const button = gtk_widget_get_first_child(GTK_WIDGET(view->range));
  GtkStringObject* const chosen = GTK_STRING_OBJECT(gtk_drop_down_get_selected_item(view->range));
  char* const name =
      g_strdup_printf("Days that are shown: %s", gtk_string_object_get_string(chosen));
  gtk_accessible_update_property(GTK_ACCESSIBLE(button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  g_free(name);
}

static void
range_changed(SrProgressView* const view)
{
  name_range(view);
  show_days(view);
}

// The list ---------------------------------------------------------------------------------------

static void
row_selected(SrProgressView* const view, GtkListBoxRow* const row)
{
  if (row) {
    show_phrase(view, (size_t)gtk_list_box_row_get_index(row));
  }
}

static void
row_activated(SrProgressView* const view)
{
  adw_leaflet_set_visible_child(view->leaflet, view->phrase_side);
}

static void
show_list(SrProgressView* const view)
{
  adw_leaflet_set_visible_child(view->leaflet, view->list_side);
}

/// Tab leaves the list: from row to row it would show another phrase.
static gboolean
leave_list(GtkEventControllerKey* const controller, const guint key, const guint code,
           const GdkModifierType state, SrProgressView* const view)
{
  (void)controller;
  (void)code;
  if (adw_leaflet_get_folded(view->leaflet) ||
      (key != GDK_KEY_Tab && key != GDK_KEY_ISO_Left_Tab) || (state & GDK_CONTROL_MASK)) {
    return FALSE;
  }
  const bool back = (state & GDK_SHIFT_MASK) != 0;
  return gtk_widget_child_focus(view->phrase_side,
                                back ? GTK_DIR_TAB_BACKWARD : GTK_DIR_TAB_FORWARD);
}

static GtkWidget*
row_of(const SrPhraseProgress* const phrase)
{
  char name[SR_PHRASE_WORDS_SIZE];
  char day[SR_DAY_WORDS_SIZE];
  GtkWidget* const row = adw_action_row_new();
  char* const title = g_utf8_make_valid(sr_show_history_phrase(&phrase->phrase, name), -1);
  char* const under =
      g_strdup_printf("%zu day%s, last on %s", phrase->day_count, phrase->day_count == 1 ? "" : "s",
                      sr_show_day(sr_moment_day(phrase->phrase.last), true, day));
  adw_preferences_row_set_use_markup(ADW_PREFERENCES_ROW(row), FALSE);
  adw_preferences_row_set_title(ADW_PREFERENCES_ROW(row), title);
  adw_action_row_set_subtitle(ADW_ACTION_ROW(row), under);
  gtk_list_box_row_set_activatable(GTK_LIST_BOX_ROW(row), TRUE);
  g_free(title);
  g_free(under);
  return row;
}

static void
say(SrProgressView* const view, const char* const title, const char* const words)
{
  adw_status_page_set_title(view->words, title);
  adw_status_page_set_description(view->words, words);
  gtk_stack_set_visible_child_name(view->stack, "words");
}

static void
fill(SrProgressView* const view)
{
  const SrProgressReading* const reading = view->reading;
  char* const count = g_strdup_printf("%zu phrase%s practised", reading->phrase_count,
                                      reading->phrase_count == 1 ? "" : "s");
  adw_window_title_set_subtitle(view->list_title, count);
  g_free(count);
  for (size_t i = 0; i < reading->phrase_count; ++i) {
    gtk_list_box_append(view->list, row_of(&reading->phrases[i]));
  }
  gtk_stack_set_visible_child_name(view->stack, "phrases");
  GtkListBoxRow* const first = gtk_list_box_get_row_at_index(view->list, 0);
  gtk_list_box_select_row(view->list, first);
  gtk_widget_grab_focus(GTK_WIDGET(first));
}

static void
take_reading(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrProgressView* const view = SR_PROGRESS_VIEW(object);
  SrProgressReading* const reading = sr_progress_reading_finish(result);
  if (!gtk_widget_get_visible(GTK_WIDGET(view))) {
    // It was closed meanwhile
    sr_progress_reading_unref(reading);
    return;
  }
  view->reading = reading;
  if (reading->status != SR_OK) {
    char* const words = g_markup_escape_text(reading->error.message, -1);
    say(view, "The history cannot be read", words);
    g_free(words);
  } else if (!reading->phrase_count) {
    say(view, "Nothing has been kept yet",
        "Play a phrase: each round is kept, and from the first day on you see here how it goes.");
  } else {
    fill(view);
  }
}

// Pages ------------------------------------------------------------------------------------------

static void
take_written(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  char* const words = sr_progress_page_finish(result);
  SrProgressView* const view = SR_PROGRESS_VIEW(object);
  if (gtk_widget_get_visible(GTK_WIDGET(view))) {
    char* const escaped = g_markup_escape_text(words, -1);
    adw_toast_overlay_add_toast(view->toasts, adw_toast_new(escaped));
    g_free(escaped);
  }
  g_free(words);
}

static void
take_place(SrProgressView* const view, const int response)
{
  GFile* const file = response == GTK_RESPONSE_ACCEPT
                          ? gtk_file_chooser_get_file(GTK_FILE_CHOOSER(view->chooser))
                          : NULL;
  char* const path = file ? g_file_get_path(file) : NULL;
  if (path && shown_phrase(view)) {
    sr_progress_page_begin(G_OBJECT(view), view->reading, view->shown, path, take_written);
  }
  g_free(path);
  g_clear_object(&view->chooser);
  if (file) {
    g_object_unref(file);
  }
}

/// The name of a file for the page of a phrase.
static char*
page_name(const SrPhraseProgress* const phrase)
{
  char* const title = g_utf8_make_valid(phrase->phrase.title, -1);
  g_strdelimit(title, "/\\.:*?\"<>|\n\r\t", '-');
  char* const name = g_strdup_printf("%s, progress.pdf", title[0] ? title : "Without a title");
  g_free(title);
  return name;
}

static void
add_filter(GtkFileChooser* const chooser, const char* const name, const char* const suffix)
{
  GtkFileFilter* const filter = gtk_file_filter_new();
  gtk_file_filter_set_name(filter, name);
  gtk_file_filter_add_suffix(filter, suffix);
  gtk_file_chooser_add_filter(chooser, filter);
  g_object_unref(filter);
}

static void
save(SrProgressView* const view)
{
  const SrPhraseProgress* const phrase = shown_phrase(view);
  if (view->chooser || !phrase) {
    return;
  }
  view->chooser = gtk_file_chooser_native_new("Save as page", GTK_WINDOW(view),
                                              GTK_FILE_CHOOSER_ACTION_SAVE, "_Save", "_Cancel");
  GtkFileChooser* const chooser = GTK_FILE_CHOOSER(view->chooser);
  char* const name = page_name(phrase);
  gtk_file_chooser_set_current_name(chooser, name);
  g_free(name);
  add_filter(chooser, "Page to print (PDF)", "pdf");
  add_filter(chooser, "Picture of any size (SVG)", "svg");
  add_filter(chooser, "Picture (PNG)", "png");
  g_signal_connect_swapped(chooser, "response", G_CALLBACK(take_place), view);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(view->chooser));
}

// The view ---------------------------------------------------------------------------------------

static void
view_dispose(GObject* const object)
{
  SrProgressView* const view = SR_PROGRESS_VIEW(object);
  if (view->chooser) {
    g_signal_handlers_disconnect_by_data(view->chooser, view);
    gtk_native_dialog_destroy(GTK_NATIVE_DIALOG(view->chooser));
  }
  g_clear_object(&view->chooser);
  if (view->area) {
    sr_progress_area_show(view->area, NULL);
    view->area = NULL;
  }
  g_clear_pointer(&view->reading, sr_progress_reading_unref);
  G_OBJECT_CLASS(sr_progress_view_parent_class)->dispose(object);
}

static void
sr_progress_view_class_init(SrProgressViewClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = view_dispose;
  g_type_ensure(SR_TYPE_PROGRESS_AREA);
  gtk_widget_class_set_template_from_resource(widget,
                                              "/org/steadyreed/Steadyreed/progress_view.ui");
  gtk_widget_class_bind_template_child(widget, SrProgressView, toasts);
  gtk_widget_class_bind_template_child(widget, SrProgressView, stack);
  gtk_widget_class_bind_template_child(widget, SrProgressView, words);
  gtk_widget_class_bind_template_child(widget, SrProgressView, leaflet);
  gtk_widget_class_bind_template_child(widget, SrProgressView, list_side);
  gtk_widget_class_bind_template_child(widget, SrProgressView, phrase_side);
  gtk_widget_class_bind_template_child(widget, SrProgressView, list_title);
  gtk_widget_class_bind_template_child(widget, SrProgressView, list);
  gtk_widget_class_bind_template_child(widget, SrProgressView, title);
  gtk_widget_class_bind_template_child(widget, SrProgressView, scroller);
  gtk_widget_class_bind_template_child(widget, SrProgressView, sentence);
  gtk_widget_class_bind_template_child(widget, SrProgressView, range);
  gtk_widget_class_bind_template_child(widget, SrProgressView, save);
  gtk_widget_class_bind_template_child(widget, SrProgressView, area);
  gtk_widget_class_bind_template_callback(widget, row_selected);
  gtk_widget_class_bind_template_callback(widget, row_activated);
  gtk_widget_class_bind_template_callback(widget, show_list);
  gtk_widget_class_bind_template_callback(widget, range_changed);
  gtk_widget_class_bind_template_callback(widget, save);
  gtk_widget_class_add_binding_action(widget, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
sr_progress_view_init(SrProgressView* const view)
{
  gtk_widget_init_template(GTK_WIDGET(view));
  gtk_widget_add_css_class(GTK_WIDGET(view), "practise");
  GtkEventController* const keys = gtk_event_controller_key_new();
  gtk_event_controller_set_propagation_phase(keys, GTK_PHASE_CAPTURE);
  g_signal_connect(keys, "key-pressed", G_CALLBACK(leave_list), view);
  gtk_widget_add_controller(GTK_WIDGET(view->list), keys);
  sr_night_follow(GTK_WIDGET(view));
  name_range(view);
}

void
sr_progress_view_open(GtkWindow* const parent)
{
  SrProgressView* const view =
      SR_PROGRESS_VIEW(g_object_new(SR_TYPE_PROGRESS_VIEW, "transient-for", parent, "modal", TRUE,
                                    "destroy-with-parent", TRUE, NULL));
  const int width = gtk_widget_get_width(GTK_WIDGET(parent));
  const int height = gtk_widget_get_height(GTK_WIDGET(parent));
  gtk_window_set_default_size(GTK_WINDOW(view), CLAMP(width, LEAST_WIDTH, WIDTH),
                              CLAMP(height, LEAST_HEIGHT, HEIGHT));
  gtk_window_present(GTK_WINDOW(view));
  sr_progress_reading_begin(G_OBJECT(view), take_reading);
}
