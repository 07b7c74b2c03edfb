// SPDX-License-Identifier: GPL-3.0-or-later

#include "setup_sheet.h"

#include "big_label.h"
#include "device_pane.h"
#include "input_meter.h"
#include "setup_run.h"
#include "setup_words.h"

/// Largest letters of the sentence, pixels of the window.
#define HEAD_MOST 52.0

/// The pages: the devices, the steps, what was found.
#define DEVICES_PAGE 0u
#define FIRST_STEP_PAGE 1u
#define FOUND_PAGE (FIRST_STEP_PAGE + SR_SETUP_STEPS)
#define PAGES (FOUND_PAGE + 1u)

struct _SrSetupSheet {
  AdwWindow parent_instance;
  AdwWindowTitle* title;
  GtkButton* back;
  SrBigLabel* head;
  GtkLabel* detail;
  GtkLabel* caution;
  SrDevicePane* devices;
  SrInputMeter* meter;
  GtkLabel* heard;
  GtkButton* other;
  GtkButton* main;

  guint page;
  SrStreamSettings stream;
  char* input; ///< As before
  char* output;
  SrSetup setup; ///< With what was found
  gboolean changed;
  char* words[SR_SETUP_STEPS]; ///< What each step found; NULL if it did nothing yet
  gboolean failed;             ///< The step of this page could not be done
  SrSetupRun* run;             ///< That goes on; NULL if none does
  size_t notes;                ///< Heard by it
  gboolean closing;            ///< It goes once nothing runs
};

G_DEFINE_FINAL_TYPE(SrSetupSheet, sr_setup_sheet, ADW_TYPE_WINDOW)

enum { KEPT, SIGNALS };
static guint signals[SIGNALS];

static gboolean
is_step(const SrSetupSheet* const sheet)
{
  return sheet->page >= FIRST_STEP_PAGE && sheet->page < FOUND_PAGE;
}

static SrSetupStep
step_of(const SrSetupSheet* const sheet)
{
  return (SrSetupStep)(sheet->page - FIRST_STEP_PAGE);
}

static gboolean
is_busy(SrSetupSheet* const sheet)
{
  return sheet->run || sr_device_pane_busy(sheet->devices);
}

static gboolean
has_other_devices(SrSetupSheet* const sheet)
{
  return g_strcmp0(sheet->input, sr_device_pane_input(sheet->devices)) != 0 ||
         g_strcmp0(sheet->output, sr_device_pane_output(sheet->devices)) != 0;
}

/// Whether there is anything to keep.
static gboolean
has_found(SrSetupSheet* const sheet)
{
  return sheet->changed || has_other_devices(sheet);
}

static void
show_text(GtkLabel* const label, const char* const words)
{
  gtk_label_set_label(label, words ? words : "");
  gtk_widget_set_visible(GTK_WIDGET(label), words && words[0]);
}

static void
show_button(GtkButton* const button, const char* const words)
{
  gtk_widget_set_visible(GTK_WIDGET(button), words != NULL);
  if (words) {
    gtk_button_set_label(button, words);
  }
}

/// All that was found; g_free() it.
static char*
sum_up(SrSetupSheet* const sheet)
{
  GString* const text = g_string_new(NULL);
  if (has_other_devices(sheet)) {
    const char* const input = sr_device_pane_input(sheet->devices);
    g_string_append_printf(text, "The microphone is %s.", input ? input : "the usual one");
  }
  for (guint i = 0; i < SR_SETUP_STEPS; ++i) {
    if (sheet->words[i]) {
      g_string_append_printf(text, "%s%s", text->len ? "\n\n" : "", sheet->words[i]);
    }
  }
  return g_string_free(text, FALSE);
}

static void
show_devices(SrSetupSheet* const sheet)
{
  const gboolean busy = sr_device_pane_busy(sheet->devices);
  sr_big_label_say(sheet->head, "Which microphone do you play into?");
  show_text(sheet->detail, "Best is one that stands 30 cm from you. Hear the click on headphones, "
                           "if you can. Each step from here may be skipped.");
  show_text(sheet->caution, NULL);
  show_text(sheet->heard, busy ? "Looking for microphones …" : NULL);
  show_button(sheet->other, "Cancel");
  show_button(sheet->main, "Next");
  gtk_widget_set_sensitive(GTK_WIDGET(sheet->main), !busy);
}

static void
show_step(SrSetupSheet* const sheet)
{
  const SrSetupStep step = step_of(sheet);
  const char* const words = sheet->words[step];
  const gboolean runs = sheet->run != NULL;
  const gboolean can_end = step == SR_SETUP_REEDS || step == SR_SETUP_BELLOWS;
  const gboolean found = words && !runs;
  sr_big_label_say(sheet->head, found ? words : sr_setup_task(step));
  sr_big_label_set_fault(sheet->head, found && sheet->failed);
  show_text(sheet->detail, runs || words ? NULL : sr_setup_detail(step));
  show_text(sheet->caution, words ? NULL : sr_setup_caution(step));
  show_text(sheet->heard, NULL);
  show_button(sheet->other, runs ? "Stop" : words ? "Again" : "Skip");
  show_button(sheet->main, !runs     ? (words && !sheet->failed ? "Next" : "Start")
                           : can_end ? "Done"
                                     : NULL);
  if (found && sheet->failed) {
    show_button(sheet->other, "Skip");
    show_button(sheet->main, "Again");
  }
  gtk_widget_set_sensitive(GTK_WIDGET(sheet->main), !runs || sheet->notes > 0);
}

static void
show_found(SrSetupSheet* const sheet)
{
  char* const words = sum_up(sheet);
  const gboolean any = has_found(sheet);
  sr_big_label_say(sheet->head, any ? "This is what was found" : "Nothing was measured");
  show_text(sheet->detail, any ? words : "You can come back to it from the menu at any time.");
  show_text(sheet->caution, NULL);
  show_text(sheet->heard, NULL);
  show_button(sheet->other, any ? "Do not keep it" : NULL);
  show_button(sheet->main, any ? "Keep this" : "Close");
  gtk_widget_set_sensitive(GTK_WIDGET(sheet->main), TRUE);
  g_free(words);
}

static void
show(SrSetupSheet* const sheet)
{
  char under[32];
  const gboolean steps = is_step(sheet);
  g_snprintf(under, sizeof(under), "%u of %u", sheet->page + 1, PAGES);
  adw_window_title_set_title(sheet->title, steps ? sr_setup_title(step_of(sheet)) : "Setup");
  adw_window_title_set_subtitle(sheet->title, under);
  gtk_widget_set_sensitive(GTK_WIDGET(sheet->back), sheet->page > 0 && !sheet->run);
  gtk_widget_set_visible(GTK_WIDGET(sheet->devices), sheet->page == DEVICES_PAGE);
  gtk_widget_set_visible(GTK_WIDGET(sheet->meter),
                         steps && sheet->run && step_of(sheet) != SR_SETUP_ROUND_TRIP);
  sr_big_label_set_fault(sheet->head, FALSE);
  if (sheet->page == DEVICES_PAGE) {
    show_devices(sheet);
  } else if (steps) {
    show_step(sheet);
  } else {
    show_found(sheet);
  }
}

/// The button that a player wants next has the focus, so that space or Return is enough.
static void
go_to(SrSetupSheet* const sheet, const guint page)
{
  sheet->page = page;
  sheet->failed = FALSE;
  show(sheet);
  gtk_widget_grab_focus(GTK_WIDGET(sheet->main));
}

static void
take_progress(SrSetupRun* const run, const SrSetupProgress* const progress,
              SrSetupSheet* const sheet)
{
  (void)run;
  if (progress->kind == SR_SETUP_OPENED) {
    sr_input_meter_reset(sheet->meter);
  } else if (progress->kind == SR_SETUP_LEVEL) {
    sr_input_meter_take(sheet->meter, progress->level.peak, progress->level.overdriven, FALSE,
                        progress->level.at_s);
    return;
  } else if (progress->kind == SR_SETUP_FLOOR) {
    sr_big_label_say(sheet->head, "Now play as loud as you ever do, for five seconds");
  } else if (progress->kind == SR_SETUP_REED || progress->kind == SR_SETUP_STROKE) {
    ++sheet->notes;
    gtk_widget_set_sensitive(GTK_WIDGET(sheet->main), TRUE);
  }
  char* const words = sr_setup_progress_words(progress, sheet->notes);
  if (words) {
    show_text(sheet->heard, words);
  }
  g_free(words);
}

static void
take_end(SrSetupRun* const run, SrSetupSheet* const sheet)
{
  const SrSetupStep step = step_of(sheet);
  SrSetupFound* const found = sr_setup_run_found(run);
  const SrError* const error = sr_setup_run_error(run);
  if (error) {
    g_free(sheet->words[step]);
    sheet->words[step] = g_strdup(error->message);
  } else if (found->outcome != SR_SETUP_CANCELLED) {
    sheet->changed = sr_setup_take_over(&sheet->setup, found) || sheet->changed;
    g_free(sheet->words[step]);
    sheet->words[step] = sr_setup_found_words(found, &sheet->setup);
  }
  sheet->failed = error || found->outcome == SR_SETUP_NOTHING;
  g_clear_object(&sheet->run);
  if (sheet->closing && !sheet->changed) {
    gtk_window_destroy(GTK_WINDOW(sheet));
  } else if (sheet->closing) {
    sheet->closing = FALSE;
    go_to(sheet, FOUND_PAGE);
  } else {
    show(sheet);
    gtk_widget_grab_focus(GTK_WIDGET(sheet->main));
  }
}

static void
start(SrSetupSheet* const sheet)
{
  sheet->stream.input = sr_device_pane_input(sheet->devices);
  sheet->stream.output = sr_device_pane_output(sheet->devices);
  sheet->notes = 0;
  sheet->failed = FALSE;
  sheet->run = sr_setup_run_new(step_of(sheet), &sheet->stream, &sheet->setup);
  g_signal_connect_object(sheet->run, "progress", G_CALLBACK(take_progress), sheet, 0);
  g_signal_connect_object(sheet->run, "done", G_CALLBACK(take_end), sheet, 0);
  show(sheet);
  gtk_widget_grab_focus(GTK_WIDGET(sheet->other));
}

static void
keep(SrSetupSheet* const sheet)
{
  SrError error = {0};
  if (sheet->changed && sr_setup_write(&sheet->setup, &error) != SR_OK) {
    sr_big_label_set_fault(sheet->head, TRUE);
    sr_big_label_say(sheet->head, "It could not be kept");
    show_text(sheet->detail, error.message);
    return;
  }
  g_signal_emit(sheet, signals[KEPT], 0, sr_device_pane_input(sheet->devices),
                sr_device_pane_output(sheet->devices));
  gtk_window_destroy(GTK_WINDOW(sheet));
}

static void
press_main(SrSetupSheet* const sheet)
{
  if (sheet->page == FOUND_PAGE) {
    if (has_found(sheet)) {
      keep(sheet);
    } else {
      gtk_window_destroy(GTK_WINDOW(sheet));
    }
  } else if (sheet->run) {
    sr_setup_run_wish(sheet->run, SR_SETUP_ENOUGH);
  } else if (is_step(sheet) && (!sheet->words[step_of(sheet)] || sheet->failed)) {
    start(sheet);
  } else {
    go_to(sheet, sheet->page + 1);
  }
}

static void
press_other(SrSetupSheet* const sheet)
{
  if (sheet->page == DEVICES_PAGE) {
    gtk_window_close(GTK_WINDOW(sheet));
  } else if (sheet->page == FOUND_PAGE) {
    gtk_window_destroy(GTK_WINDOW(sheet));
  } else if (sheet->run) {
    sr_setup_run_wish(sheet->run, SR_SETUP_CANCEL);
  } else if (sheet->words[step_of(sheet)] && !sheet->failed) {
    start(sheet);
  } else {
    go_to(sheet, sheet->page + 1);
  }
}

static void
go_back(SrSetupSheet* const sheet)
{
  if (sheet->page > 0 && !sheet->run) {
    go_to(sheet, sheet->page - 1);
  }
}

static void
take_devices(SrDevicePane* const pane, SrSetupSheet* const sheet)
{
  (void)pane;
  if (sheet->closing) {
    gtk_window_destroy(GTK_WINDOW(sheet));
    return;
  }
  show(sheet);
  gtk_widget_grab_focus(GTK_WIDGET(sheet->main));
}

/// What was measured is not lost without a question; devices are closed before it goes.
static gboolean
close_sheet(GtkWindow* const window)
{
  SrSetupSheet* const sheet = SR_SETUP_SHEET(window);
  if (sheet->page != FOUND_PAGE && sheet->changed && !sheet->run) {
    go_to(sheet, FOUND_PAGE);
    return TRUE;
  }
  if (is_busy(sheet)) {
    sheet->closing = TRUE;
    if (sheet->run) {
      sr_setup_run_wish(sheet->run, SR_SETUP_CANCEL);
    }
    return TRUE;
  }
  return GTK_WINDOW_CLASS(sr_setup_sheet_parent_class)->close_request(window);
}

static void
sheet_finalize(GObject* const object)
{
  SrSetupSheet* const sheet = SR_SETUP_SHEET(object);
  for (guint i = 0; i < SR_SETUP_STEPS; ++i) {
    g_free(sheet->words[i]);
  }
  g_free(sheet->input);
  g_free(sheet->output);
  sr_setup_clear(&sheet->setup);
  G_OBJECT_CLASS(sr_setup_sheet_parent_class)->finalize(object);
}

static void
sr_setup_sheet_class_init(SrSetupSheetClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = sheet_finalize;
  GTK_WINDOW_CLASS(class)->close_request = close_sheet;
  g_type_ensure(SR_TYPE_BIG_LABEL);
  g_type_ensure(SR_TYPE_DEVICE_PANE);
  g_type_ensure(SR_TYPE_INPUT_METER);
  signals[KEPT] = g_signal_new("kept", SR_TYPE_SETUP_SHEET, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 2, G_TYPE_STRING, G_TYPE_STRING);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/setup_sheet.ui");
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, title);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, back);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, head);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, detail);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, caution);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, devices);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, meter);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, heard);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, other);
  gtk_widget_class_bind_template_child(widget, SrSetupSheet, main);
  gtk_widget_class_bind_template_callback(widget, go_back);
  gtk_widget_class_bind_template_callback(widget, press_main);
  gtk_widget_class_bind_template_callback(widget, press_other);
  gtk_widget_class_add_binding_action(widget, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
sr_setup_sheet_init(SrSetupSheet* const sheet)
{
  gtk_widget_init_template(GTK_WIDGET(sheet));
  gtk_widget_add_css_class(GTK_WIDGET(sheet), "practise");
  sr_big_label_limit(sheet->head, HEAD_MOST);
  g_signal_connect(sheet->devices, "listed", G_CALLBACK(take_devices), sheet);
}

GtkWidget*
sr_setup_sheet_new(GtkWindow* const parent, const SrStreamSettings* const stream)
{
  SrSetupSheet* const sheet = SR_SETUP_SHEET(
      g_object_new(SR_TYPE_SETUP_SHEET, "transient-for", parent, "modal", TRUE, NULL));
  sheet->stream = *stream;
  sheet->input = g_strdup(stream->input && stream->input[0] ? stream->input : NULL);
  sheet->output = g_strdup(stream->output && stream->output[0] ? stream->output : NULL);
  // A damaged file has a name of its own by now, and what is measured is written beside it
  (void)sr_setup_read(&sheet->setup, NULL);
  sr_device_pane_list(sheet->devices, sheet->input, sheet->output);
  show(sheet);
  return GTK_WIDGET(sheet);
}
