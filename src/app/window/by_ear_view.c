// SPDX-License-Identifier: GPL-3.0-or-later

#include "by_ear_view_parts.h"

#include "file_drop.h"
#include "flow_cells.h"
#include "outline_reading.h"
#include "recording_chooser.h"
#include "size_as_parent.h"
#include "time_scale.h"

#include <string.h>

/// The window's size without a parent's.
#define WIDTH 800
#define HEIGHT 720

G_DEFINE_FINAL_TYPE(SrByEarView, sr_by_ear_view, ADW_TYPE_WINDOW)

enum { LEARNT, SIGNALS };
static guint signals[SIGNALS];

void
sr_by_ear_say(SrByEarView* const view, const char* const words)
{
  if (g_strcmp0(gtk_label_get_label(view->status), words) != 0) {
    gtk_label_set_label(view->status, words);
  }
}

void
sr_by_ear_go_once_idle(SrByEarView* const view)
{
  if (view->closing && view->player && !view->working && !sr_stretch_player_busy(view->player)) {
    gtk_window_destroy(GTK_WINDOW(view));
  }
}

void
sr_by_ear_say_next(SrByEarView* const view)
{
  if (!view->path) {
    sr_by_ear_say(view, "Which recording?");
  } else if (view->writes) {
    sr_by_ear_say(view, "Writing it down…");
  } else if (view->writing) {
    sr_by_ear_say(view, "Hear whether it is right, then practise it");
  } else {
    sr_by_ear_say(view, "Mark what you want to learn, and hear it");
  }
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
  sr_by_ear_forget_writing(view);
  sr_by_ear_replay(view);
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
  sr_by_ear_forget_writing(view);
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
    sr_by_ear_go_once_idle(view);
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
  sr_by_ear_say(view, words);
  g_free(words);
  g_free(name);
}

static void
open_recording(SrByEarView* const view, const char* const path)
{
  if (view->closing) {
    return;
  }
  sr_by_ear_stop(view);
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
  sr_by_ear_say(view, "Reading the recording…");
  sr_outline_reading_begin(G_OBJECT(view), path, view->reads, take_outline);
}

static void
take_drop(GtkWidget* const widget, const char* const path)
{
  open_recording(SR_BY_EAR_VIEW(widget), path);
}

char*
sr_by_ear_take_path(SrByEarView* const view, const int response)
{
  char* const path = sr_recording_chooser_path(view->chooser, response);
  g_clear_object(&view->chooser);
  return path;
}

static void
take_opened(SrByEarView* const view, const int response)
{
  char* const path = sr_by_ear_take_path(view, response);
  if (path) {
    open_recording(view, path);
  }
  g_free(path);
}

void
sr_by_ear_ask_file(SrByEarView* const view)
{
  if (!view->chooser) {
    view->chooser = sr_recording_chooser_open(GTK_WINDOW(view));
    g_signal_connect_swapped(view->chooser, "response", G_CALLBACK(take_opened), view);
    gtk_native_dialog_show(GTK_NATIVE_DIALOG(view->chooser));
  }
}

static void
hear_stretch(SrByEarView* const view)
{
  sr_by_ear_toggle(view, PLAYS_STRETCH);
}

static void
hear_to_end(SrByEarView* const view)
{
  sr_by_ear_toggle(view, PLAYS_ON);
}

static void
hear_written(SrWrittenBox* const box, const gboolean both, SrByEarView* const view)
{
  (void)box;
  sr_by_ear_toggle(view, both ? PLAYS_BOTH : PLAYS_WRITTEN);
}

static void
write_or_cancel(SrByEarView* const view)
{
  if (view->writes) {
    sr_by_ear_cancel_writing(view);
    sr_by_ear_show_writing(view);
    sr_by_ear_say_next(view);
  } else {
    sr_by_ear_write_down(view);
  }
}

static gboolean
close_view(GtkWindow* const window)
{
  SrByEarView* const view = SR_BY_EAR_VIEW(window);
  view->closing = TRUE;
  g_clear_handle_id(&view->replay, g_source_remove);
  sr_by_ear_cancel_writing(view);
  if (view->reads) {
    g_cancellable_cancel(view->reads);
  }
  sr_stretch_player_close(view->player);
  sr_by_ear_show_playing(view);
  if (view->working || sr_stretch_player_busy(view->player)) {
    // Its threads come back first, and its device is closed
    gtk_widget_set_visible(GTK_WIDGET(view), FALSE);
    return TRUE;
  }
  return GTK_WINDOW_CLASS(sr_by_ear_view_parent_class)->close_request(window);
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
  g_clear_handle_id(&view->replay, g_source_remove);
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
  gtk_widget_class_bind_template_callback(widget, sr_by_ear_ask_file);
  gtk_widget_class_bind_template_callback(widget, stretch_changed);
  gtk_widget_class_bind_template_callback(widget, hear_stretch);
  gtk_widget_class_bind_template_callback(widget, hear_to_end);
  gtk_widget_class_bind_template_callback(widget, hear_written);
  gtk_widget_class_bind_template_callback(widget, sr_by_ear_sound_changed);
  gtk_widget_class_bind_template_callback(widget, sr_by_ear_read_speed);
  gtk_widget_class_bind_template_callback(widget, sr_by_ear_write_speed);
  gtk_widget_class_bind_template_callback(widget, write_or_cancel);
  gtk_widget_class_bind_template_callback(widget, sr_by_ear_write_down);
  gtk_widget_class_bind_template_callback(widget, sr_by_ear_practise);
  gtk_widget_class_bind_template_callback(widget, sr_by_ear_ask_save);
}

static void
sr_by_ear_view_init(SrByEarView* const view)
{
  gtk_widget_init_template(GTK_WIDGET(view));
  gtk_widget_add_css_class(GTK_WIDGET(view), "practise");
  sr_flow_cells_pass_focus(view->hearing);
  sr_file_drop_let(GTK_WIDGET(view), take_drop);
}

GtkWidget*
sr_by_ear_view_new(GtkWindow* const parent, const char* const output, const SrChoice* const choice,
                   const char* const recording)
{
  SrByEarView* const view = SR_BY_EAR_VIEW(
      g_object_new(SR_TYPE_BY_EAR_VIEW, "transient-for", parent, "modal", TRUE, NULL));
  view->choice = sr_choice_copy(choice);
  view->player = sr_stretch_player_new(output);
  sr_by_ear_hearing_begin(view);
  sr_size_as_parent(GTK_WINDOW(view), parent, WIDTH, HEIGHT);
  sr_by_ear_say_next(view);
  if (recording) {
    open_recording(view, recording);
  } else {
    gtk_window_set_focus(GTK_WINDOW(view), view->open_first);
  }
  return GTK_WIDGET(view);
}
