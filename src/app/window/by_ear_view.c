// SPDX-License-Identifier: GPL-3.0-or-later

#include "by_ear_view.h"

#include "../sound_take.h"
#include "file_drop.h"
#include "outline_reading.h"
#include "recording_chooser.h"
#include "stretch_box.h"
#include "stretch_player.h"
#include "stretch_writing.h"
#include "time_scale.h"
#include "written_box.h"

#include <steadyreed/learnt_phrase.h>
#include <steadyreed/output.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// The window's size without a parent's.
#define WIDTH 800
#define HEIGHT 720
/// A stretch whose loudest sample is below this share of full scale is silent: -66 dB.
#define SILENT 0.0005

/// What is played.
typedef enum { PLAYS_NOTHING, PLAYS_STRETCH, PLAYS_ON, PLAYS_WRITTEN, PLAYS_BOTH } Plays;

struct _SrByEarView {
  AdwWindow parent_instance;
  AdwWindowTitle* title;
  GtkLabel* status;
  GtkStack* stack;
  GtkSpinner* reading;
  GtkWidget* open;
  GtkWidget* open_first;
  GtkScrolledWindow* scroller;
  SrStretchBox* stretch;
  GtkFlowBox* hearing;
  GtkButton* hear;
  GtkButton* hear_on;
  GtkSpinButton* speed;
  GtkCheckButton* again;
  GtkWidget* pause_box;
  GtkSpinButton* pause;
  GtkButton* write;
  GtkSpinner* writing_spinner;
  SrWrittenBox* written;

  SrChoice choice; ///< For the picture
  char* path;      ///< The recording that is shown; NULL without
  char* wanted;    ///< The one that is being read
  SrTakeOutline* outline;
  SrStretchWriting* writing; ///< What was written down; NULL before
  SrStretchPlayer* player;
  Plays plays;
  GCancellable* reads; ///< While a recording is read
  GCancellable* writes; ///< While a stretch is written down
  unsigned working;     ///< Threads that have not come back
  guint tick;
  GtkFileChooserNative* chooser;
  gboolean closing;
};

G_DEFINE_FINAL_TYPE(SrByEarView, sr_by_ear_view, ADW_TYPE_WINDOW)

enum { LEARNT, SIGNALS };
static guint signals[SIGNALS];

static void write_down(SrByEarView* view);

static void
say(SrByEarView* const view, const char* const words)
{
  if (g_strcmp0(gtk_label_get_label(view->status), words) != 0) {
    gtk_label_set_label(view->status, words);
  }
}

/// It was closed: it goes once nothing of it works any more.
static void
go_once_idle(SrByEarView* const view)
{
  if (view->closing && !view->working && !sr_stretch_player_busy(view->player)) {
    gtk_window_destroy(GTK_WINDOW(view));
  }
}

/// What to do next.
static void
say_next(SrByEarView* const view)
{
  if (!view->path) {
    say(view, "Which recording?");
  } else if (view->writes) {
    say(view, "Writing it down…");
  } else if (view->writing) {
    say(view, "Hear whether it is right, then practise it");
  } else {
    say(view, "Mark what you want to learn, and hear it");
  }
}

static gboolean
move_line(GtkWidget* const widget, GdkFrameClock* const clock, void* const unused)
{
  (void)clock;
  (void)unused;
  SrByEarView* const view = SR_BY_EAR_VIEW(widget);
  const SrStretchPlace place = sr_stretch_player_place(view->player);
  sr_stretch_box_line(view->stretch, place.recording_s);
  sr_written_box_line(view->written, place.written);
  return G_SOURCE_CONTINUE;
}

static void
show_playing(SrByEarView* const view)
{
  const gboolean plays = sr_stretch_player_plays(view->player);
  view->plays = plays ? view->plays : PLAYS_NOTHING;
  gtk_button_set_label(view->hear, view->plays == PLAYS_STRETCH ? "Stop" : "Hear it");
  gtk_button_set_label(view->hear_on, view->plays == PLAYS_ON ? "Stop" : "Hear on to the end");
  sr_written_box_set_playing(view->written, view->plays == PLAYS_WRITTEN,
                             view->plays == PLAYS_BOTH);
  if (plays && !view->tick) {
    view->tick = gtk_widget_add_tick_callback(GTK_WIDGET(view), move_line, NULL, NULL);
  } else if (!plays && view->tick) {
    gtk_widget_remove_tick_callback(GTK_WIDGET(view), view->tick);
    view->tick = 0;
    sr_stretch_box_line(view->stretch, (double)NAN);
    sr_written_box_line(view->written, (double)NAN);
  }
}

static void
take_player(SrStretchPlayer* const player, SrByEarView* const view)
{
  (void)player;
  show_playing(view);
  go_once_idle(view);
}

static void
take_trouble(SrStretchPlayer* const player, const char* const words, SrByEarView* const view)
{
  (void)player;
  say(view, words);
}

static void
stop(SrByEarView* const view)
{
  sr_stretch_player_stop(view->player);
  show_playing(view);
}

static void
play(SrByEarView* const view, const Plays what)
{
  SrStretchOrder order = {.path = view->path,
                          .recorded = what != PLAYS_WRITTEN,
                          .speed = gtk_spin_button_get_value(view->speed) / 100.0,
                          .again = what != PLAYS_ON && gtk_check_button_get_active(view->again),
                          .pause_s = gtk_spin_button_get_value(view->pause)};
  if (!view->path || view->closing) {
    return;
  }
  sr_stretch_box_get(view->stretch, &order.from_s, &order.to_s);
  if (what == PLAYS_ON) {
    order.to_s = sr_take_outline_seconds(view->outline);
  }
  if (what == PLAYS_WRITTEN || what == PLAYS_BOTH) {
    if (!view->writing) {
      return;
    }
    order.written = view->writing->chosen;
    order.reference_hz = view->writing->score.reference_hz;
  }
  view->plays = what;
  say_next(view);
  sr_stretch_player_begin(view->player, &order);
}

/// The same button plays and stops.
static void
toggle(SrByEarView* const view, const Plays what)
{
  if (view->plays == what && sr_stretch_player_plays(view->player)) {
    stop(view);
  } else {
    play(view, what);
  }
}

static void
hear_stretch(SrByEarView* const view)
{
  toggle(view, PLAYS_STRETCH);
}

static void
hear_to_end(SrByEarView* const view)
{
  toggle(view, PLAYS_ON);
}

static void
hear_written(SrWrittenBox* const box, const gboolean both, SrByEarView* const view)
{
  (void)box;
  toggle(view, both ? PLAYS_BOTH : PLAYS_WRITTEN);
}

/// What is played goes on with other settings.
static void
sound_changed(SrByEarView* const view)
{
  gtk_widget_set_sensitive(view->pause_box, gtk_check_button_get_active(view->again));
  if (view->plays != PLAYS_NOTHING && view->plays != PLAYS_ON) {
    play(view, view->plays);
  }
}

static void
show_work(SrByEarView* const view)
{
  const gboolean works = view->writes != NULL;
  gtk_button_set_label(view->write, works ? "Cancel" : "Write it down");
  gtk_spinner_set_spinning(view->writing_spinner, works);
  sr_written_box_set_busy(view->written, works);
  gtk_widget_set_visible(GTK_WIDGET(view->written), view->writing != NULL);
}

static void
cancel_writing(SrByEarView* const view)
{
  if (view->writes) {
    g_cancellable_cancel(view->writes);
    g_clear_object(&view->writes);
  }
}

/// Why nothing was written down, in words for a stretch of a recording.
static void
say_unwritten(SrByEarView* const view, const SrError* const error)
{
  say(view, error->status == SR_NOTHING_HEARD
                ? "No notes were found in this stretch. Mark one where the tune is played alone."
                : error->message);
}

static void
take_writing(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrByEarView* const view = SR_BY_EAR_VIEW(object);
  SrStretchWriting* const writing = sr_stretch_writing_finish(result);
  --view->working;
  if (view->closing || !writing) {
    sr_stretch_writing_free(writing);
    go_once_idle(view);
    return;
  }
  g_clear_object(&view->writes);
  if (writing->chosen) {
    const gboolean first = view->writing == NULL;
    sr_written_box_show(view->written, writing);
    sr_stretch_writing_free(view->writing);
    view->writing = writing;
    show_work(view);
    say_next(view);
    if (first) {
      sr_written_box_focus(view->written);
    }
    return;
  }
  show_work(view);
  say_unwritten(view, &writing->error);
  sr_stretch_writing_free(writing);
}

/// Whether the stretch can be written down; says why not.
static gboolean
check_stretch(SrByEarView* const view, const double from_s, const double to_s)
{
  if (to_s - from_s < SR_STRETCH_LEAST_S) {
    say(view, "That is too short: mark at least a second");
  } else if (to_s - from_s > SR_STRETCH_MOST_S) {
    say(view, "That is too long to be learnt at once: mark two minutes at most");
  } else if (sr_take_outline_peak(view->outline, from_s, to_s) < SILENT) {
    say(view, "There is no sound in this stretch: mark one where somebody plays");
  } else {
    return TRUE;
  }
  return FALSE;
}

static void
write_down(SrByEarView* const view)
{
  SrStretchWish wish = {.path = view->path,
                        .layout = view->choice.layout,
                        .style = view->choice.style,
                        .unplanned = view->choice.unplanned};
  if (!view->path || view->closing) {
    return;
  }
  sr_stretch_box_get(view->stretch, &wish.from_s, &wish.to_s);
  if (!check_stretch(view, wish.from_s, wish.to_s)) {
    return;
  }
  stop(view);
  cancel_writing(view);
  sr_written_box_wish(view->written, &wish);
  view->writes = g_cancellable_new();
  ++view->working;
  sr_stretch_writing_begin(G_OBJECT(view), &wish, view->writes, take_writing);
  g_free(wish.key);
  show_work(view);
  say_next(view);
}

static void
write_or_cancel(SrByEarView* const view)
{
  if (view->writes) {
    cancel_writing(view);
    show_work(view);
    say_next(view);
  } else {
    write_down(view);
  }
}

/// What was written is no longer what is marked.
static void
forget_writing(SrByEarView* const view)
{
  cancel_writing(view);
  if (view->plays == PLAYS_WRITTEN || view->plays == PLAYS_BOTH) {
    stop(view);
  }
  sr_stretch_writing_free(view->writing);
  view->writing = NULL;
  show_work(view);
  say_next(view);
}

static void
stretch_changed(SrByEarView* const view)
{
  double from_s = 0.0;
  double to_s = 0.0;
  sr_stretch_box_get(view->stretch, &from_s, &to_s);
  if (view->writing && view->writing->wish.from_s == from_s && view->writing->wish.to_s == to_s) {
    return;
  }
  forget_writing(view);
  if (view->plays == PLAYS_STRETCH) {
    stop(view);
  }
}

/// A title from the name of a file; g_free() it.
static char*
title_of(const char* const path)
{
  char* const name = g_filename_display_basename(path);
  char* const dot = strrchr(name, '.');
  if (dot && dot > name) {
    *dot = '\0';
  }
  char* const title = sr_stretch_writing_title(g_strdelimit(name, "_", ' '));
  g_free(name);
  return title;
}

static void
show_recording(SrByEarView* const view, SrTakeOutline* const outline)
{
  char* const name = g_filename_display_basename(view->wanted);
  char* const title = title_of(view->wanted);
  char whole[SR_TIME_WORDS_SIZE];
  char* under = NULL;
  g_free(view->path);
  view->path = (char*)g_steal_pointer(&view->wanted);
  sr_time_words(sr_take_outline_seconds(outline), false, whole);
  under = g_strdup_printf("%s · %s", name, whole);
  sr_stretch_box_show(view->stretch, outline);
  sr_take_outline_del(view->outline);
  view->outline = outline;
  sr_written_box_reset(view->written, title);
  forget_writing(view);
  adw_window_title_set_subtitle(view->title, under);
  gtk_stack_set_visible_child_name(view->stack, "take");
  sr_stretch_box_focus(view->stretch);
  g_free(under);
  g_free(title);
  g_free(name);
}

static void
take_outline(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrByEarView* const view = SR_BY_EAR_VIEW(object);
  SrError error = {0};
  SrTakeOutline* const outline = sr_outline_reading_finish(result, &error);
  --view->working;
  if (view->closing || (!outline && error.status == SR_OK)) {
    sr_take_outline_del(outline);
    go_once_idle(view);
    return;
  }
  g_clear_object(&view->reads);
  gtk_spinner_stop(view->reading);
  if (outline) {
    show_recording(view, outline);
    return;
  }
  // What was open before is still there
  char* const name = g_filename_display_basename(view->wanted);
  char* const words = g_strdup_printf("%s: %s", name, error.message);
  g_clear_pointer(&view->wanted, g_free);
  gtk_stack_set_visible_child_name(view->stack, view->path ? "take" : "empty");
  say(view, words);
  g_free(words);
  g_free(name);
}

static void
open_recording(SrByEarView* const view, const char* const path)
{
  if (view->closing) {
    return;
  }
  stop(view);
  if (view->reads) {
    g_cancellable_cancel(view->reads);
    g_clear_object(&view->reads);
  }
  g_free(view->wanted);
  view->wanted = g_strdup(path);
  view->reads = g_cancellable_new();
  ++view->working;
  gtk_stack_set_visible_child_name(view->stack, "reading");
  gtk_spinner_start(view->reading);
  say(view, "Reading the recording…");
  sr_outline_reading_begin(G_OBJECT(view), path, view->reads, take_outline);
}

static void
take_drop(GtkWidget* const widget, const char* const path)
{
  open_recording(SR_BY_EAR_VIEW(widget), path);
}

/// The path that was chosen, g_free() it; NULL if none was.
static char*
take_chosen(SrByEarView* const view, const int response)
{
  char* const path = sr_recording_chooser_path(view->chooser, response);
  g_clear_object(&view->chooser);
  return path;
}

static void
take_opened(SrByEarView* const view, const int response)
{
  char* const path = take_chosen(view, response);
  if (path) {
    open_recording(view, path);
  }
  g_free(path);
}

static void
ask_file(SrByEarView* const view)
{
  if (!view->chooser) {
    view->chooser = sr_recording_chooser_open(GTK_WINDOW(view));
    g_signal_connect_swapped(view->chooser, "response", G_CALLBACK(take_opened), view);
    gtk_native_dialog_show(GTK_NATIVE_DIALOG(view->chooser));
  }
}

static void
take_saved(SrByEarView* const view, const int response)
{
  char* const path = take_chosen(view, response);
  size_t size = 0;
  char* const text = path && view->writing
                         ? sr_stretch_writing_text(&view->writing->score,
                                                   sr_written_box_title(view->written), &size)
                         : NULL;
  const char* const recording = view->path;
  SrError error = {0};
  if (text) {
    SrStatus status = sr_output_check(path, &recording, 1, &error);
    status = status == SR_OK ? sr_output_write(path, text, size, &error) : status;
    say(view, status == SR_OK ? "Saved" : error.message);
  }
  free(text);
  g_free(path);
}

static void
ask_save(SrByEarView* const view)
{
  if (!view->chooser && view->writing) {
    view->chooser =
        sr_recording_chooser_save(GTK_WINDOW(view), sr_written_box_title(view->written));
    g_signal_connect_swapped(view->chooser, "response", G_CALLBACK(take_saved), view);
    gtk_native_dialog_show(GTK_NATIVE_DIALOG(view->chooser));
  }
}

static void
practise(SrByEarView* const view)
{
  size_t size = 0;
  char* const title = sr_stretch_writing_title(sr_written_box_title(view->written));
  char* const text =
      view->writing && !view->writes
          ? sr_stretch_writing_text(&view->writing->score, title, &size)
          : NULL;
  char* path = NULL;
  SrError error = {0};
  if (text && sr_learnt_phrase_keep(title, text, size, &path, &error) == SR_OK) {
    g_signal_emit(view, signals[LEARNT], 0, path);
    gtk_window_close(GTK_WINDOW(view));
  } else if (text) {
    say(view, error.message);
  }
  free(path);
  free(text);
  g_free(title);
}

static gboolean
close_view(GtkWindow* const window)
{
  SrByEarView* const view = SR_BY_EAR_VIEW(window);
  view->closing = TRUE;
  cancel_writing(view);
  if (view->reads) {
    g_cancellable_cancel(view->reads);
  }
  sr_stretch_player_close(view->player);
  show_playing(view);
  if (view->working || sr_stretch_player_busy(view->player)) {
    // Its threads come back first, and its device is closed
    gtk_widget_set_visible(GTK_WIDGET(view), FALSE);
    return TRUE;
  }
  return GTK_WINDOW_CLASS(sr_by_ear_view_parent_class)->close_request(window);
}

static gboolean
do_key(SrByEarView* const view, const guint value, const GdkModifierType state)
{
  const gboolean control = (state & GDK_CONTROL_MASK) != 0;
  if (state & GDK_ALT_MASK) {
    return GDK_EVENT_PROPAGATE;
  }
  switch (gdk_keyval_to_lower(value)) {
  case GDK_KEY_space:
    if (view->plays == PLAYS_NOTHING) {
      play(view, PLAYS_STRETCH);
    } else {
      stop(view);
    }
    return GDK_EVENT_STOP;
  case GDK_KEY_o:
    if (control) {
      ask_file(view);
    }
    return control ? GDK_EVENT_STOP : GDK_EVENT_PROPAGATE;
  case GDK_KEY_Return:
  case GDK_KEY_KP_Enter:
    if (control) {
      write_down(view);
    }
    return control ? GDK_EVENT_STOP : GDK_EVENT_PROPAGATE;
  case GDK_KEY_f:
  case GDK_KEY_t:
    sr_stretch_box_end_here(view->stretch, gdk_keyval_to_lower(value) == GDK_KEY_t);
    return GDK_EVENT_STOP;
  case GDK_KEY_w:
  case GDK_KEY_b:
    if (!control) {
      toggle(view, gdk_keyval_to_lower(value) == GDK_KEY_w ? PLAYS_WRITTEN : PLAYS_BOTH);
    } else if (gdk_keyval_to_lower(value) == GDK_KEY_w) {
      gtk_window_close(GTK_WINDOW(view));
    }
    return GDK_EVENT_STOP;
  case GDK_KEY_Escape:
    gtk_window_close(GTK_WINDOW(view));
    return GDK_EVENT_STOP;
  default:
    return GDK_EVENT_PROPAGATE;
  }
}

/// Keys that nothing else in the window has taken.
static gboolean
press_key(GtkEventControllerKey* const keys, const guint value, const guint code,
          const GdkModifierType state, SrByEarView* const view)
{
  (void)keys;
  (void)code;
  return do_key(view, value, state);
}

/// The space bar stops what sounds, whatever has the focus, but a text that is typed.
static gboolean
press_space(GtkEventControllerKey* const keys, const guint value, const guint code,
            const GdkModifierType state, SrByEarView* const view)
{
  (void)keys;
  (void)code;
  (void)state;
  GtkWidget* const focus = gtk_window_get_focus(GTK_WINDOW(view));
  if (value != GDK_KEY_space || view->plays == PLAYS_NOTHING || GTK_IS_TEXT(focus)) {
    return GDK_EVENT_PROPAGATE;
  }
  stop(view);
  return GDK_EVENT_STOP;
}

static void
view_dispose(GObject* const object)
{
  SrByEarView* const view = SR_BY_EAR_VIEW(object);
  view->closing = TRUE;
  if (view->chooser) {
    g_signal_handlers_disconnect_by_data(view->chooser, view);
    gtk_native_dialog_destroy(GTK_NATIVE_DIALOG(view->chooser));
  }
  g_clear_object(&view->chooser);
  if (view->player) {
    g_signal_handlers_disconnect_by_data(view->player, view);
    sr_stretch_player_stop(view->player);
  }
  g_clear_object(&view->player);
  g_clear_object(&view->reads);
  g_clear_object(&view->writes);
  g_clear_pointer(&view->writing, sr_stretch_writing_free);
  g_clear_pointer(&view->path, g_free);
  g_clear_pointer(&view->wanted, g_free);
  sr_choice_clear(&view->choice);
  G_OBJECT_CLASS(sr_by_ear_view_parent_class)->dispose(object);
}

static void
view_finalize(GObject* const object)
{
  // The picture asks it until it has gone
  sr_take_outline_del(SR_BY_EAR_VIEW(object)->outline);
  G_OBJECT_CLASS(sr_by_ear_view_parent_class)->finalize(object);
}

static void
bind_children(GtkWidgetClass* const widget)
{
  gtk_widget_class_bind_template_child(widget, SrByEarView, title);
  gtk_widget_class_bind_template_child(widget, SrByEarView, status);
  gtk_widget_class_bind_template_child(widget, SrByEarView, stack);
  gtk_widget_class_bind_template_child(widget, SrByEarView, reading);
  gtk_widget_class_bind_template_child(widget, SrByEarView, open);
  gtk_widget_class_bind_template_child(widget, SrByEarView, open_first);
  gtk_widget_class_bind_template_child(widget, SrByEarView, scroller);
  gtk_widget_class_bind_template_child(widget, SrByEarView, stretch);
  gtk_widget_class_bind_template_child(widget, SrByEarView, hearing);
  gtk_widget_class_bind_template_child(widget, SrByEarView, hear);
  gtk_widget_class_bind_template_child(widget, SrByEarView, hear_on);
  gtk_widget_class_bind_template_child(widget, SrByEarView, speed);
  gtk_widget_class_bind_template_child(widget, SrByEarView, again);
  gtk_widget_class_bind_template_child(widget, SrByEarView, pause_box);
  gtk_widget_class_bind_template_child(widget, SrByEarView, pause);
  gtk_widget_class_bind_template_child(widget, SrByEarView, write);
  gtk_widget_class_bind_template_child(widget, SrByEarView, writing_spinner);
  gtk_widget_class_bind_template_child(widget, SrByEarView, written);
}

static void
sr_by_ear_view_class_init(SrByEarViewClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = view_dispose;
  G_OBJECT_CLASS(class)->finalize = view_finalize;
  GTK_WINDOW_CLASS(class)->close_request = close_view;
  signals[LEARNT] = g_signal_new("learnt", SR_TYPE_BY_EAR_VIEW, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                 NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
  g_type_ensure(SR_TYPE_STRETCH_BOX);
  g_type_ensure(SR_TYPE_WRITTEN_BOX);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/by_ear_view.ui");
  bind_children(widget);
  gtk_widget_class_bind_template_callback(widget, ask_file);
  gtk_widget_class_bind_template_callback(widget, stretch_changed);
  gtk_widget_class_bind_template_callback(widget, hear_stretch);
  gtk_widget_class_bind_template_callback(widget, hear_to_end);
  gtk_widget_class_bind_template_callback(widget, hear_written);
  gtk_widget_class_bind_template_callback(widget, sound_changed);
  gtk_widget_class_bind_template_callback(widget, write_or_cancel);
  gtk_widget_class_bind_template_callback(widget, write_down);
  gtk_widget_class_bind_template_callback(widget, practise);
  gtk_widget_class_bind_template_callback(widget, ask_save);
}

static void
add_keys(SrByEarView* const view, const GtkPropagationPhase phase, const GCallback press)
{
  GtkEventController* const keys = gtk_event_controller_key_new();
  gtk_event_controller_set_propagation_phase(keys, phase);
  g_signal_connect(keys, "key-pressed", press, view);
  gtk_widget_add_controller(GTK_WIDGET(view), keys);
}

static void
sr_by_ear_view_init(SrByEarView* const view)
{
  gtk_widget_init_template(GTK_WIDGET(view));
  gtk_widget_add_css_class(GTK_WIDGET(view), "practise");
  // The buttons take the focus, not the nameless cells around them
  for (GtkWidget* cell = gtk_widget_get_first_child(GTK_WIDGET(view->hearing)); cell;
       cell = gtk_widget_get_next_sibling(cell)) {
    gtk_widget_set_focusable(cell, FALSE);
  }
  add_keys(view, GTK_PHASE_CAPTURE, G_CALLBACK(press_space));
  add_keys(view, GTK_PHASE_BUBBLE, G_CALLBACK(press_key));
  sr_file_drop_let(GTK_WIDGET(view), take_drop);
}

/// As large as the window under it, since it is to be used from as far away.
static void
take_size(GtkWindow* const window, GtkWindow* const parent)
{
  const int width = gtk_widget_get_width(GTK_WIDGET(parent));
  const int height = gtk_widget_get_height(GTK_WIDGET(parent));
  gtk_window_set_default_size(window, width > 0 ? width : WIDTH, height > 0 ? height : HEIGHT);
  if (gtk_window_is_maximized(parent)) {
    gtk_window_maximize(window);
  }
  if (gtk_window_is_fullscreen(parent)) {
    gtk_window_fullscreen(window);
  }
}

GtkWidget*
sr_by_ear_view_new(GtkWindow* const parent, const char* const output, const SrChoice* const choice,
                   const char* const recording)
{
  SrByEarView* const view = SR_BY_EAR_VIEW(
      g_object_new(SR_TYPE_BY_EAR_VIEW, "transient-for", parent, "modal", TRUE, NULL));
  view->choice = sr_choice_copy(choice);
  view->player = sr_stretch_player_new(output);
  g_signal_connect(view->player, "changed", G_CALLBACK(take_player), view);
  g_signal_connect(view->player, "said", G_CALLBACK(take_trouble), view);
  take_size(GTK_WINDOW(view), parent);
  say_next(view);
  if (recording) {
    open_recording(view, recording);
  } else {
    gtk_window_set_focus(GTK_WINDOW(view), view->open_first);
  }
  return GTK_WIDGET(view);
}
