// SPDX-License-Identifier: GPL-3.0-or-later

#include "by_ear_view_parts.h"
#include "take_strip.h"

#include <math.h>

/// A stretch that was changed while it was played is played again after this, ms.
#define REPLAY_MS 500

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

void
sr_by_ear_show_playing(SrByEarView* const view)
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
  sr_by_ear_show_playing(view);
  sr_by_ear_go_once_idle(view);
}

static void
take_trouble(SrStretchPlayer* const player, const char* const words, SrByEarView* const view)
{
  (void)player;
  sr_by_ear_say(view, words);
}

void
sr_by_ear_stop(SrByEarView* const view)
{
  g_clear_handle_id(&view->replay, g_source_remove);
  sr_stretch_player_stop(view->player);
  sr_by_ear_show_playing(view);
}

static void
play(SrByEarView* const view, const SrByEarPlays what)
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
  g_clear_handle_id(&view->replay, g_source_remove);
  view->plays = what;
  sr_by_ear_say_next(view);
  sr_stretch_player_begin(view->player, &order);
}

static gboolean
play_changed(void* const data)
{
  SrByEarView* const view = SR_BY_EAR_VIEW(data);
  view->replay = 0;
  play(view, PLAYS_STRETCH);
  return G_SOURCE_REMOVE;
}

void
sr_by_ear_replay(SrByEarView* const view)
{
  if (view->plays == PLAYS_STRETCH || view->replay) {
    sr_by_ear_stop(view);
    view->replay = g_timeout_add(REPLAY_MS, play_changed, view);
  }
}

void
sr_by_ear_toggle(SrByEarView* const view, const SrByEarPlays what)
{
  if (view->plays == what && sr_stretch_player_plays(view->player)) {
    sr_by_ear_stop(view);
  } else {
    play(view, what);
  }
}

void
sr_by_ear_sound_changed(SrByEarView* const view)
{
  gtk_widget_set_sensitive(view->pause_box, gtk_check_button_get_active(view->again));
  if (view->plays != PLAYS_NOTHING && view->plays != PLAYS_ON) {
    play(view, view->plays);
  }
}

static gboolean
do_key(SrByEarView* const view, const guint value, const GdkModifierType state)
{
  const gboolean control = (state & GDK_CONTROL_MASK) != 0;
  GtkWidget* const focus = gtk_window_get_focus(GTK_WINDOW(view));
  if (state & GDK_ALT_MASK) {
    return GDK_EVENT_PROPAGATE;
  }
  switch (gdk_keyval_to_lower(value)) {
  case GDK_KEY_space:
    // A row or a button has the space bar for itself
    if (focus && !SR_IS_TAKE_STRIP(focus)) {
      return GDK_EVENT_PROPAGATE;
    }
    sr_by_ear_toggle(view, PLAYS_STRETCH);
    return GDK_EVENT_STOP;
  case GDK_KEY_o:
    if (control) {
      sr_by_ear_ask_file(view);
    }
    return control ? GDK_EVENT_STOP : GDK_EVENT_PROPAGATE;
  case GDK_KEY_Return:
  case GDK_KEY_KP_Enter:
    if (control) {
      sr_by_ear_write_down(view);
    }
    return control ? GDK_EVENT_STOP : GDK_EVENT_PROPAGATE;
  case GDK_KEY_f:
  case GDK_KEY_t:
    sr_stretch_box_end_here(view->stretch, gdk_keyval_to_lower(value) == GDK_KEY_t);
    return GDK_EVENT_STOP;
  case GDK_KEY_w:
  case GDK_KEY_b:
    if (!control) {
      sr_by_ear_toggle(view, gdk_keyval_to_lower(value) == GDK_KEY_w ? PLAYS_WRITTEN : PLAYS_BOTH);
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
  sr_by_ear_stop(view);
  return GDK_EVENT_STOP;
}

static void
add_keys(SrByEarView* const view, const GtkPropagationPhase phase, const GCallback press)
{
  GtkEventController* const keys = gtk_event_controller_key_new();
  gtk_event_controller_set_propagation_phase(keys, phase);
  g_signal_connect(keys, "key-pressed", press, view);
  gtk_widget_add_controller(GTK_WIDGET(view), keys);
}

gboolean
sr_by_ear_read_speed(GtkSpinButton* const spin, double* const value, SrByEarView* const view)
{
  (void)view;
  char* end = NULL;
  char* const words = g_strstrip(g_strdup(gtk_editable_get_text(GTK_EDITABLE(spin))));
  *value = g_strtod(words, &end);
  const bool any = end > words;
  while (*end == ' ') {
    ++end;
  }
  const bool good = any && (*end == '\0' || g_str_equal(end, "%"));
  g_free(words);
  return good ? TRUE : GTK_INPUT_ERROR;
}

gboolean
sr_by_ear_write_speed(GtkSpinButton* const spin, SrByEarView* const view)
{
  (void)view;
  char words[16];
  g_snprintf(words, sizeof(words), "%.0f %%", gtk_spin_button_get_value(spin));
  if (!g_str_equal(words, gtk_editable_get_text(GTK_EDITABLE(spin)))) {
    gtk_editable_set_text(GTK_EDITABLE(spin), words);
  }
  return TRUE;
}

void
sr_by_ear_hearing_begin(SrByEarView* const view)
{
  g_signal_connect(view->player, "changed", G_CALLBACK(take_player), view);
  g_signal_connect(view->player, "said", G_CALLBACK(take_trouble), view);
  add_keys(view, GTK_PHASE_CAPTURE, G_CALLBACK(press_space));
  add_keys(view, GTK_PHASE_BUBBLE, G_CALLBACK(press_key));
}
