// SPDX-License-Identifier: GPL-3.0-or-later

#include "side_views.h"

#include "by_ear_view.h"
#include "night.h"
#include "setup_sheet.h"
#include "takes_view.h"
#include "tuner_view.h"

#include <math.h>

struct _SrSideViews {
  GObject parent_instance;
  GtkWindow* window;
  SrSitting* sitting;
  SrStreamSettings* stream;
  SrRemembered* remembered;
  SrSideView wanted;
  gboolean pending; ///< It opens once the sitting is over
  gboolean listened;
  gboolean closing;
  guint opening; ///< Source that opens it
  GtkWidget* open;
  GtkWidget* offer; ///< Of the setup; NULL before
  char* recording;  ///< To learn from; NULL to ask for one
};

G_DEFINE_FINAL_TYPE(SrSideViews, sr_side_views, G_TYPE_OBJECT)

enum { OVER, CLOSING, LEARNT, SIGNALS };
static guint signals[SIGNALS];

static void
keep_devices(SrSetupSheet* const sheet, const char* const input, const char* const output,
             SrSideViews* const views)
{
  (void)sheet;
  SrRemembered* const remembered = views->remembered;
  g_free(remembered->input);
  g_free(remembered->output);
  remembered->input = g_strdup(input);
  remembered->output = g_strdup(output);
  views->stream->input = remembered->input;
  views->stream->output = remembered->output;
  sr_remembered_write(remembered);
}

static gboolean
tell_closing(void* const data)
{
  SrSideViews* const views = SR_SIDE_VIEWS(data);
  views->opening = 0;
  views->closing = FALSE;
  g_signal_emit(views, signals[CLOSING], 0);
  return G_SOURCE_REMOVE;
}

static void
take_gone(SrSideViews* const views)
{
  views->open = NULL;
  g_clear_pointer(&views->recording, g_free);
  if (views->closing) {
    // The window under it may be waiting for an answer to its own closing
    views->opening = g_idle_add(tell_closing, views);
  } else {
    g_signal_emit(views, signals[OVER], 0, views->listened);
  }
}

/// What was learnt is practised at once.
static void
take_learnt(SrByEarView* const view, const char* const path, SrSideViews* const views)
{
  (void)view;
  views->listened = TRUE;
  g_signal_emit(views, signals[LEARNT], 0, path);
}

static gboolean
open_wanted(void* const data)
{
  SrSideViews* const views = SR_SIDE_VIEWS(data);
  views->opening = 0;
  views->pending = FALSE;
  if (views->closing) {
    views->closing = FALSE;
    g_signal_emit(views, signals[CLOSING], 0);
    return G_SOURCE_REMOVE;
  }
  if (views->wanted == SR_SIDE_SETUP) {
    views->open = sr_setup_sheet_new(views->window, views->stream);
    g_signal_connect(views->open, "kept", G_CALLBACK(keep_devices), views);
  } else if (views->wanted == SR_SIDE_TAKES) {
    views->open = sr_takes_view_new(views->window, views->sitting, views->stream);
  } else if (views->wanted == SR_SIDE_BY_EAR) {
    views->open = sr_by_ear_view_new(views->window, views->stream->output,
                                     &views->remembered->choice, views->recording);
    g_signal_connect(views->open, "learnt", G_CALLBACK(take_learnt), views);
  } else {
    views->open = sr_tuner_view_new(views->window, views->stream);
  }
  g_signal_connect_object(views->open, "destroy", G_CALLBACK(take_gone), views, G_CONNECT_SWAPPED);
  sr_night_follow(views->open);
  gtk_window_present(GTK_WINDOW(views->open));
  return G_SOURCE_REMOVE;
}

/// The menu has the setup too.
static void
withdraw_offer(SrSideViews* const views)
{
  if (views->offer) {
    gtk_widget_set_visible(views->offer, FALSE);
  }
  views->offer = NULL;
}

/// The sitting may be over; it must have said so to everybody before a view opens.
static void
take_change(SrSitting* const sitting, SrSideViews* const views)
{
  if (sr_sitting_phase(sitting) == SR_SITTING_PLAYING) {
    // The stage needs the room
    withdraw_offer(views);
  }
  if (views->pending && !views->opening && !sr_sitting_is_open(sitting)) {
    views->opening = g_idle_add(open_wanted, views);
  }
}

void
sr_side_views_open(SrSideViews* const views, const SrSideView view)
{
  if (sr_side_views_busy(views)) {
    return;
  }
  views->wanted = view;
  views->pending = TRUE;
  withdraw_offer(views);
  views->listened = sr_sitting_phase(views->sitting) != SR_SITTING_RESTING;
  if (sr_sitting_is_open(views->sitting)) {
    sr_sitting_end(views->sitting);
  }
  take_change(views->sitting, views);
}

void
sr_side_views_open_recording(SrSideViews* const views, const char* const path)
{
  if (!sr_side_views_busy(views)) {
    views->recording = g_strdup(path);
    sr_side_views_open(views, SR_SIDE_BY_EAR);
  }
}

gboolean
sr_side_views_busy(SrSideViews* const views)
{
  return views->pending || views->open;
}

void
sr_side_views_close(SrSideViews* const views)
{
  views->closing = sr_side_views_busy(views);
  if (views->open) {
    gtk_window_close(GTK_WINDOW(views->open));
  }
}

/// Whether setup has measured anything yet.
static gboolean
is_measured(void)
{
  SrSetup setup;
  const gboolean known = sr_setup_read(&setup, NULL) == SR_OK &&
                         (setup.profile || isfinite(setup.floor_dbfs) ||
                          isfinite(setup.round_trip_s) || isfinite(setup.bellows_at_a4));
  sr_setup_clear(&setup);
  return known;
}

void
sr_side_views_offer_setup(SrSideViews* const views, GtkWidget* const offer,
                          GtkButton* const not_now)
{
  if (views->remembered->shown_setup || is_measured()) {
    return;
  }
  views->offer = offer;
  gtk_widget_set_visible(offer, TRUE);
  g_signal_connect_object(not_now, "clicked", G_CALLBACK(withdraw_offer), views, G_CONNECT_SWAPPED);
  views->remembered->shown_setup = TRUE;
  sr_remembered_write(views->remembered);
}

static void
views_dispose(GObject* const object)
{
  SrSideViews* const views = SR_SIDE_VIEWS(object);
  g_clear_handle_id(&views->opening, g_source_remove);
  if (views->sitting) {
    g_signal_handlers_disconnect_by_data(views->sitting, views);
  }
  g_clear_object(&views->sitting);
  g_clear_pointer(&views->recording, g_free);
  G_OBJECT_CLASS(sr_side_views_parent_class)->dispose(object);
}

static void
sr_side_views_class_init(SrSideViewsClass* const class)
{
  G_OBJECT_CLASS(class)->dispose = views_dispose;
  signals[OVER] = g_signal_new("over", SR_TYPE_SIDE_VIEWS, G_SIGNAL_RUN_LAST, 0, NULL, NULL, NULL,
                               G_TYPE_NONE, 1, G_TYPE_BOOLEAN);
  signals[CLOSING] = g_signal_new("closing", SR_TYPE_SIDE_VIEWS, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                  NULL, G_TYPE_NONE, 0);
  signals[LEARNT] = g_signal_new("learnt", SR_TYPE_SIDE_VIEWS, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                 NULL, G_TYPE_NONE, 1, G_TYPE_STRING);
}

static void
sr_side_views_init(SrSideViews* const views)
{
  (void)views;
}

SrSideViews*
sr_side_views_new(GtkWindow* const window, SrSitting* const sitting, SrStreamSettings* const stream,
                  SrRemembered* const remembered)
{
  SrSideViews* const views = SR_SIDE_VIEWS(g_object_new(SR_TYPE_SIDE_VIEWS, NULL));
  views->window = window;
  views->sitting = SR_SITTING(g_object_ref(sitting));
  views->stream = stream;
  views->remembered = remembered;
  g_signal_connect(sitting, "changed", G_CALLBACK(take_change), views);
  return views;
}
