// SPDX-License-Identifier: GPL-3.0-or-later

#include "phrase_sheet.h"

#include "../sound_take.h"
#include "bars_group.h"
#include "begin_group.h"
#include "buttons_group.h"
#include "choice_view.h"
#include "file_drop.h"
#include "phrase_reading.h"
#include "places_pane.h"
#include "tempo_group.h"
#include "tune_picker.h"

#include <steadyreed/sound.h>

/// Size that it opens with, unless its parent is smaller.
#define WIDTH 940
#define HEIGHT 760
#define LEAST_WIDTH 360
#define LEAST_HEIGHT 560

struct _SrPhraseSheet {
  AdwWindow parent_instance;
  AdwLeaflet* leaflet;
  GtkWidget* source_side;
  GtkWidget* choice_side;
  AdwWindowTitle* source_title;
  GtkWidget* back_to_places;
  GtkStack* source;
  SrPlacesPane* places;
  SrTunePicker* tunes;
  AdwWindowTitle* title;
  GtkWidget* practise;
  SrChoiceView* view;
  GtkWidget* tune_group;
  AdwActionRow* tune;
  SrBarsGroup* bars;
  SrButtonsGroup* buttons;
  SrTempoGroup* tempo;
  SrBeginGroup* begin;
  GtkFileChooserNative* chooser; ///< While it is open

  SrChoice choice;
  SrSessionSettings settings;
  SrTuneModel* model;    ///< Tunes of the file; NULL until they are read
  gboolean model_wanted; ///< The next reading lists them
  gboolean ask;          ///< … and tells what the file asks for
  gboolean ladder;       ///< The file asks for it
  gboolean reading;
  gboolean again;     ///< Something else was chosen since
  gboolean accepting; ///< The player wants to practise it as soon as it is read
  gboolean shown_once;
  SrChosen* chosen; ///< As read last; NULL if it could not be
};

G_DEFINE_FINAL_TYPE(SrPhraseSheet, sr_phrase_sheet, ADW_TYPE_WINDOW)

enum { CHOSEN, RECORDING, SIGNALS };
static guint signals[SIGNALS];

static void refresh(SrPhraseSheet* sheet);

static bool
has_tunes(const SrPhraseSheet* const sheet)
{
  return sheet->model && g_list_model_get_n_items(G_LIST_MODEL(sheet->model)) > 1;
}

static void
show_source(SrPhraseSheet* const sheet, const bool tunes)
{
  char* const file = g_filename_display_basename(sheet->choice.path ? sheet->choice.path : "");
  gtk_stack_set_visible_child_name(sheet->source, tunes ? "tunes" : "places");
  adw_window_title_set_title(sheet->source_title, tunes ? "Tunes" : "Where from");
  adw_window_title_set_subtitle(sheet->source_title, tunes ? file : "");
  gtk_widget_set_visible(sheet->back_to_places, tunes);
  g_free(file);
}

static void
show_side(SrPhraseSheet* const sheet, GtkWidget* const side)
{
  adw_leaflet_set_visible_child(sheet->leaflet, side);
}

static void
show_places(SrPhraseSheet* const sheet)
{
  show_source(sheet, false);
}

static void
show_tunes(SrPhraseSheet* const sheet)
{
  show_source(sheet, true);
  show_side(sheet, sheet->source_side);
  sr_tune_picker_focus(sheet->tunes);
}

static void
show_sources(SrPhraseSheet* const sheet)
{
  show_side(sheet, sheet->source_side);
}

/// Show the tunes of the file that was read, from which one is to be picked.
static void
take_tunes(SrPhraseSheet* const sheet, SrPhraseReading* const reading)
{
  g_clear_object(&sheet->model);
  if (reading->tunes) {
    sheet->model = sr_tune_model_new(reading->tunes);
    reading->tunes = NULL;
  }
  sr_tune_picker_show(sheet->tunes, sheet->model);
  gtk_widget_set_visible(sheet->tune_group, has_tunes(sheet));
  // Nothing is to be picked when the sheet opens with what is practised now
  if (sheet->shown_once && has_tunes(sheet)) {
    show_tunes(sheet);
  } else if (sheet->shown_once) {
    show_side(sheet, sheet->choice_side);
  }
}

static void
show_title(SrPhraseSheet* const sheet)
{
  char* const file = g_filename_display_basename(sheet->choice.path);
  const char* const title = sheet->chosen ? sr_phrase_title(sheet->chosen->phrase) : "";
  adw_window_title_set_title(sheet->title, title[0] ? title : file);
  adw_window_title_set_subtitle(sheet->title, title[0] ? file : "");
  if (has_tunes(sheet)) {
    const guint count = g_list_model_get_n_items(G_LIST_MODEL(sheet->model));
    char* const words = sheet->chosen
                            ? g_strdup_printf("%s (X:%d, one of %u)", title[0] ? title : "Untitled",
                                              sr_phrase_tune(sheet->chosen->phrase), count)
                            : g_strdup_printf("%u tunes", count);
    adw_action_row_set_subtitle(sheet->tune, words);
    g_free(words);
  }
  g_free(file);
}

static void
accept(SrPhraseSheet* const sheet)
{
  SrPhraseSheetState state = {.choice = &sheet->choice,
                              .chosen = sheet->chosen,
                              .settings = sheet->settings,
                              .ladder = sheet->ladder};
  // What is being typed counts; it may have to be read first
  sr_bars_group_commit(sheet->bars);
  sheet->accepting = sheet->reading;
  if (!sheet->reading && sheet->chosen) {
    state.click = sr_tempo_group_get(sheet->tempo, &state.settings);
    sr_begin_group_get(sheet->begin, &state.settings);
    g_signal_emit(sheet, signals[CHOSEN], 0, &state);
    gtk_window_close(GTK_WINDOW(sheet));
  }
}

/// Show what the file asks for; the player may still choose otherwise.
static void
take_asked(SrPhraseSheet* const sheet, const SrAssignment* const asked)
{
  sheet->choice.first_bar = asked->first_bar;
  sheet->choice.last_bar = asked->last_bar;
  sheet->choice.part = asked->part;
  sheet->ladder = asked->ladder == SR_ASSIGNED_LADDER_YES;
  SrSessionSettings settings = sheet->settings;
  gboolean click = sr_tempo_group_get(sheet->tempo, &settings);
  if (asked->click) {
    click = asked->click != SR_ASSIGNED_CLICK_NONE;
    settings.click_bars = asked->click == SR_ASSIGNED_CLICK_BARS;
  }
  if (asked->on_bars) {
    settings.on_bars = asked->on_bars;
    settings.off_bars = asked->off_bars;
  }
  sr_tempo_group_show(sheet->tempo, &settings, click);
}

static void
take_reading(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrPhraseSheet* const sheet = SR_PHRASE_SHEET(object);
  SrPhraseReading* const reading = sr_phrase_reading_finish(result);
  sheet->reading = FALSE;
  if (!gtk_widget_get_visible(GTK_WIDGET(sheet))) {
    sr_phrase_reading_free(reading);
    return;
  }
  if (sheet->again) {
    sheet->again = FALSE;
    sr_phrase_reading_free(reading);
    refresh(sheet);
    return;
  }
  g_clear_pointer(&sheet->chosen, sr_chosen_unref);
  sheet->chosen = reading->chosen ? sr_chosen_ref(reading->chosen) : NULL;
  if (sheet->model_wanted) {
    sheet->model_wanted = FALSE;
    take_tunes(sheet, reading);
  }
  if (sheet->ask) {
    sheet->ask = FALSE;
    take_asked(sheet, &reading->assignment);
  }
  if (reading->outlined) {
    sr_bars_group_show(sheet->bars, &reading->outline, &sheet->choice);
  }
  gtk_widget_set_sensitive(GTK_WIDGET(sheet->bars), reading->outlined);
  gtk_widget_set_sensitive(sheet->practise, sheet->chosen != NULL);
  if (sheet->chosen) {
    sr_choice_view_show(sheet->view, sheet->chosen);
    sr_tempo_group_set_own(sheet->tempo, sr_sound_tempo(sheet->chosen->phrase));
  } else {
    sr_choice_view_say(sheet->view, &reading->error);
  }
  show_title(sheet);
  if (!sheet->shown_once) {
    gtk_widget_grab_focus(sheet->practise);
  }
  sheet->shown_once = TRUE;
  sr_phrase_reading_free(reading);
  if (sheet->accepting) {
    accept(sheet);
  }
}

/// Read what is chosen now: once, though more may be chosen while it is read.
static void
refresh(SrPhraseSheet* const sheet)
{
  sheet->again = sheet->reading;
  if (!sheet->choice.path || sheet->reading) {
    return;
  }
  sheet->reading = TRUE;
  const unsigned also =
      (sheet->model_wanted ? SR_READ_TUNES : 0u) | (sheet->ask ? SR_READ_ASKED : 0u);
  sr_phrase_reading_begin(G_OBJECT(sheet), &sheet->choice, also, take_reading);
}

static void
learn_from(SrPhraseSheet* const sheet, const char* const recording)
{
  g_signal_emit(sheet, signals[RECORDING], 0, recording);
  gtk_window_close(GTK_WINDOW(sheet));
}

static void
ask_recording(SrPhraseSheet* const sheet)
{
  learn_from(sheet, NULL);
}

void
sr_phrase_sheet_take_file(SrPhraseSheet* const sheet, const char* const path)
{
  SrChoice* const choice = &sheet->choice;
  if (sr_sound_take_is(path)) {
    learn_from(sheet, path);
    return;
  }
  char* const copy = g_strdup(path);
  g_free(choice->path);
  g_clear_pointer(&choice->title, g_free);
  choice->path = copy;
  choice->tune = choice->first_bar = choice->last_bar = choice->transpose = 0;
  choice->part = '\0';
  sheet->model_wanted = TRUE;
  sheet->ask = TRUE;
  sheet->shown_once = TRUE;
  sheet->accepting = FALSE;
  sr_tempo_group_reset(sheet->tempo);
  refresh(sheet);
}

static void
pick_place(SrPhraseSheet* const sheet, const char* const path)
{
  sr_phrase_sheet_take_file(sheet, path);
}

static void
pick_tune(SrPhraseSheet* const sheet, SrTuneItem* const item)
{
  SrChoice* const choice = &sheet->choice;
  const SrTuneEntry* const entry = sr_tune_item_entry(item);
  g_clear_pointer(&choice->title, g_free);
  choice->tune = entry->number;
  // A number stands for the first tune that has it
  choice->title = sr_tune_item_is_repeated(item) ? g_strdup(entry->title) : NULL;
  choice->first_bar = choice->last_bar = 0;
  choice->part = '\0';
  sheet->ask = TRUE;
  sr_tempo_group_reset(sheet->tempo);
  refresh(sheet);
  show_side(sheet, sheet->choice_side);
}

static void
bars_changed(SrPhraseSheet* const sheet)
{
  sr_bars_group_get(sheet->bars, &sheet->choice);
  refresh(sheet);
}

static void
buttons_changed(SrPhraseSheet* const sheet)
{
  sr_buttons_group_get(sheet->buttons, &sheet->choice);
  refresh(sheet);
}

static void
take_opened(SrPhraseSheet* const sheet, const int response)
{
  GFile* const file = response == GTK_RESPONSE_ACCEPT
                          ? gtk_file_chooser_get_file(GTK_FILE_CHOOSER(sheet->chooser))
                          : NULL;
  char* const path = file ? g_file_get_path(file) : NULL;
  if (path) {
    sr_phrase_sheet_take_file(sheet, path);
  }
  g_free(path);
  if (file) {
    g_object_unref(file);
  }
  g_clear_object(&sheet->chooser);
}

static void
open_file(SrPhraseSheet* const sheet)
{
  if (sheet->chooser) {
    return;
  }
  sheet->chooser = gtk_file_chooser_native_new("Open a file of tunes", GTK_WINDOW(sheet),
                                               GTK_FILE_CHOOSER_ACTION_OPEN, "_Open", "_Cancel");
  GtkFileFilter* const tunes = gtk_file_filter_new();
  GtkFileFilter* const all = gtk_file_filter_new();
  gtk_file_filter_set_name(tunes, "Tunes in ABC notation");
  gtk_file_filter_add_suffix(tunes, "abc");
  gtk_file_filter_add_mime_type(tunes, "text/vnd.abc");
  gtk_file_filter_set_name(all, "All files");
  gtk_file_filter_add_pattern(all, "*");
  gtk_file_chooser_add_filter(GTK_FILE_CHOOSER(sheet->chooser), tunes);
  gtk_file_chooser_add_filter(GTK_FILE_CHOOSER(sheet->chooser), all);
  g_object_unref(tunes);
  g_object_unref(all);
  g_signal_connect_swapped(sheet->chooser, "response", G_CALLBACK(take_opened), sheet);
  gtk_native_dialog_show(GTK_NATIVE_DIALOG(sheet->chooser));
}

static void
take_drop(GtkWidget* const sheet, const char* const path)
{
  sr_phrase_sheet_take_file(SR_PHRASE_SHEET(sheet), path);
}

static void
take_places(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrPhraseSheet* const sheet = SR_PHRASE_SHEET(object);
  SrPhrasePlaces* const places = sr_phrase_places_finish(result);
  if (gtk_widget_get_visible(GTK_WIDGET(sheet))) {
    sr_places_pane_show(sheet->places, places);
  }
  sr_phrase_places_free(places);
}

static void
sheet_dispose(GObject* const object)
{
  SrPhraseSheet* const sheet = SR_PHRASE_SHEET(object);
  if (sheet->chooser) {
    g_signal_handlers_disconnect_by_data(sheet->chooser, sheet);
    gtk_native_dialog_destroy(GTK_NATIVE_DIALOG(sheet->chooser));
  }
  g_clear_object(&sheet->chooser);
  g_clear_object(&sheet->model);
  g_clear_pointer(&sheet->chosen, sr_chosen_unref);
  sr_choice_clear(&sheet->choice);
  G_OBJECT_CLASS(sr_phrase_sheet_parent_class)->dispose(object);
}

static void
bind_children(GtkWidgetClass* const widget)
{
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, leaflet);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, source_side);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, choice_side);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, source_title);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, back_to_places);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, source);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, places);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, tunes);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, title);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, practise);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, view);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, tune_group);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, tune);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, bars);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, buttons);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, tempo);
  gtk_widget_class_bind_template_child(widget, SrPhraseSheet, begin);
}

static void
sr_phrase_sheet_class_init(SrPhraseSheetClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = sheet_dispose;
  signals[CHOSEN] = g_signal_new("chosen", SR_TYPE_PHRASE_SHEET, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                 NULL, G_TYPE_NONE, 1, G_TYPE_POINTER);
  signals[RECORDING] = g_signal_new("recording", SR_TYPE_PHRASE_SHEET, G_SIGNAL_RUN_LAST, 0, NULL,
                                    NULL, NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  g_type_ensure(SR_TYPE_PLACES_PANE);
  g_type_ensure(SR_TYPE_TUNE_PICKER);
  g_type_ensure(SR_TYPE_CHOICE_VIEW);
  g_type_ensure(SR_TYPE_BARS_GROUP);
  g_type_ensure(SR_TYPE_BUTTONS_GROUP);
  g_type_ensure(SR_TYPE_TEMPO_GROUP);
  g_type_ensure(SR_TYPE_BEGIN_GROUP);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/phrase_sheet.ui");
  bind_children(widget);
  gtk_widget_class_bind_template_callback(widget, show_places);
  gtk_widget_class_bind_template_callback(widget, show_tunes);
  gtk_widget_class_bind_template_callback(widget, show_sources);
  gtk_widget_class_bind_template_callback(widget, accept);
  gtk_widget_class_bind_template_callback(widget, open_file);
  gtk_widget_class_bind_template_callback(widget, ask_recording);
  gtk_widget_class_bind_template_callback(widget, pick_place);
  gtk_widget_class_bind_template_callback(widget, pick_tune);
  gtk_widget_class_bind_template_callback(widget, bars_changed);
  gtk_widget_class_bind_template_callback(widget, buttons_changed);
  gtk_widget_class_add_binding_action(widget, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
sr_phrase_sheet_init(SrPhraseSheet* const sheet)
{
  gtk_widget_init_template(GTK_WIDGET(sheet));
  sr_file_drop_let(GTK_WIDGET(sheet), take_drop);
}

SrPhraseSheet*
sr_phrase_sheet_open(GtkWindow* const parent, const SrPhraseSheetState* const state,
                     const char* const* const recent)
{
  SrPhraseSheet* const sheet =
      SR_PHRASE_SHEET(g_object_new(SR_TYPE_PHRASE_SHEET, "transient-for", parent, "modal", TRUE,
                                   "destroy-with-parent", TRUE, NULL));
  const int width = gtk_widget_get_width(GTK_WIDGET(parent));
  const int height = gtk_widget_get_height(GTK_WIDGET(parent));
  gtk_window_set_default_size(GTK_WINDOW(sheet), CLAMP(width, LEAST_WIDTH, WIDTH),
                              CLAMP(height, LEAST_HEIGHT, HEIGHT));
  sheet->choice = sr_choice_copy(state->choice);
  sheet->settings = state->settings;
  sheet->model_wanted = TRUE;
  sr_buttons_group_show(sheet->buttons, &sheet->choice);
  sr_tempo_group_show(sheet->tempo, &sheet->settings, state->click);
  sr_begin_group_show(sheet->begin, &sheet->settings);
  show_side(sheet, sheet->choice.path ? sheet->choice_side : sheet->source_side);
  sr_phrase_places_begin(G_OBJECT(sheet), recent, take_places);
  gtk_window_present(GTK_WINDOW(sheet));
  refresh(sheet);
  return sheet;
}
