// SPDX-License-Identifier: GPL-3.0-or-later

#include "by_ear_view_parts.h"
#include "recording_chooser.h"

#include <steadyreed/learnt_phrase.h>
#include <steadyreed/output.h>

#include <stdlib.h>

/// A stretch whose loudest sample is below this share of full scale is silent: -66 dB.
#define SILENT 0.0005

void
sr_by_ear_show_writing(SrByEarView* const view)
{
  const gboolean works = view->writes != NULL;
  gtk_button_set_label(view->write, works ? "Cancel" : "Write it down");
  gtk_spinner_set_spinning(view->writing_spinner, works);
  sr_written_box_set_busy(view->written, works);
  gtk_widget_set_visible(GTK_WIDGET(view->written), view->writing != NULL);
}

void
sr_by_ear_cancel_writing(SrByEarView* const view)
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
  sr_by_ear_say(
      view, error->status == SR_NOTHING_HEARD
                ? "No notes were found in this stretch. Mark one where the tune is played alone."
                : error->message);
}

/// The keyboard goes to what was written once that has a place, so that it is scrolled into sight.
static gboolean
show_written(GtkWidget* const widget, GdkFrameClock* const clock, void* const unused)
{
  (void)clock;
  (void)unused;
  if (gtk_widget_get_height(widget) <= 0) {
    return G_SOURCE_CONTINUE;
  }
  sr_written_box_focus(SR_WRITTEN_BOX(widget));
  return G_SOURCE_REMOVE;
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
    sr_by_ear_go_once_idle(view);
    return;
  }
  g_clear_object(&view->writes);
  if (writing->chosen) {
    const gboolean first = view->writing == NULL;
    sr_written_box_show(view->written, writing);
    sr_stretch_writing_free(view->writing);
    view->writing = writing;
    sr_by_ear_show_writing(view);
    sr_by_ear_say_next(view);
    if (first) {
      gtk_widget_add_tick_callback(GTK_WIDGET(view->written), show_written, NULL, NULL);
    }
    return;
  }
  sr_by_ear_show_writing(view);
  say_unwritten(view, &writing->error);
  sr_stretch_writing_free(writing);
}

/// Whether the stretch can be written down; says why not.
static gboolean
check_stretch(SrByEarView* const view, const double from_s, const double to_s)
{
  if (to_s - from_s < SR_STRETCH_LEAST_S) {
    sr_by_ear_say(view, "That is too short: mark at least a second");
  } else if (to_s - from_s > SR_STRETCH_MOST_S) {
    sr_by_ear_say(view, "That is too long to be learnt at once: mark two minutes at most");
  } else if (sr_take_outline_peak(view->outline, from_s, to_s) < SILENT) {
    sr_by_ear_say(view, "There is no sound in this stretch: mark one where somebody plays");
  } else {
    return TRUE;
  }
  return FALSE;
}

void
sr_by_ear_write_down(SrByEarView* const view)
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
  sr_by_ear_stop(view);
  sr_by_ear_cancel_writing(view);
  sr_written_box_wish(view->written, &wish);
  view->writes = g_cancellable_new();
  ++view->working;
  sr_stretch_writing_begin(G_OBJECT(view), &wish, view->writes, take_writing);
  g_free(wish.key);
  sr_by_ear_show_writing(view);
  sr_by_ear_say_next(view);
}

void
sr_by_ear_forget_writing(SrByEarView* const view)
{
  sr_by_ear_cancel_writing(view);
  if (view->plays == PLAYS_WRITTEN || view->plays == PLAYS_BOTH) {
    sr_by_ear_stop(view);
  }
  sr_stretch_writing_free(view->writing);
  view->writing = NULL;
  sr_by_ear_show_writing(view);
  sr_by_ear_say_next(view);
}

static void
take_saved(SrByEarView* const view, const int response)
{
  char* const path = sr_by_ear_take_path(view, response);
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
    sr_by_ear_say(view, status == SR_OK ? "Saved" : error.message);
  }
  free(text);
  g_free(path);
}

void
sr_by_ear_ask_save(SrByEarView* const view)
{
  if (!view->chooser && view->writing) {
    view->chooser =
        sr_recording_chooser_save(GTK_WINDOW(view), sr_written_box_title(view->written));
    g_signal_connect_swapped(view->chooser, "response", G_CALLBACK(take_saved), view);
    gtk_native_dialog_show(GTK_NATIVE_DIALOG(view->chooser));
  }
}

void
sr_by_ear_practise(SrByEarView* const view)
{
  size_t size = 0;
  char* const title = sr_stretch_writing_title(sr_written_box_title(view->written));
  char* const text = view->writing && !view->writes
                         ? sr_stretch_writing_text(&view->writing->score, title, &size)
                         : NULL;
  char* path = NULL;
  SrError error = {0};
  if (text && sr_learnt_phrase_keep(title, text, size, &path, &error) == SR_OK) {
    g_signal_emit_by_name(view, "learnt", path);
    gtk_window_close(GTK_WINDOW(view));
  } else if (text) {
    sr_by_ear_say(view, error.message);
  }
  free(path);
  free(text);
  g_free(title);
}
