// SPDX-License-Identifier: GPL-3.0-or-later

#include "practise_window.h"

#include "../today_items.h"
#include "flow_cells.h"
#include "night.h"
#include "practise_window_parts.h"
#include "window_keys.h"

#include <steadyreed/large_words.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// A page is turned this long before its end, whole notes, so that what comes can be read.
#define PAGE_AHEAD 0.125
/// Notes that must be heard before a round fills the stage: a single one may be a noise.
#define NOTES_TO_SHOW 2u
/// How long a sentence at the bottom stays, s: at least this, and what it takes to read it.
#define TOAST_S 8
#define READ_PER_S 12
/// Longer ones stand on several lines; a toast by itself would cut them short.
#define TOAST_LINE 56
/// Longest that a window closed while its devices are opened waits for them, s: a sound
/// server may never answer.
#define OPENING_S 10

G_DEFINE_FINAL_TYPE(SrPractiseWindow, sr_practise_window, ADW_TYPE_APPLICATION_WINDOW)

void
sr_practise_window_say(SrPractiseWindow* const window, const char* const words)
{
  const glong length = g_utf8_strlen(words, -1);
  AdwToast* const toast = adw_toast_new(words);
  adw_toast_set_timeout(toast, (guint)MAX(TOAST_S, length / READ_PER_S));
  if (length > TOAST_LINE) {
    GtkWidget* const label = gtk_label_new(words);
    gtk_label_set_wrap(GTK_LABEL(label), TRUE);
    gtk_label_set_wrap_mode(GTK_LABEL(label), PANGO_WRAP_WORD_CHAR);
    gtk_label_set_natural_wrap_mode(GTK_LABEL(label), GTK_NATURAL_WRAP_NONE);
    gtk_label_set_max_width_chars(GTK_LABEL(label), TOAST_LINE);
    gtk_widget_add_css_class(label, "heading");
    gtk_label_set_xalign(GTK_LABEL(label), 0.0f);
    adw_toast_set_custom_title(toast, label);
  }
  adw_toast_overlay_add_toast(window->toasts, toast);
}

/// Whether the sitting plays what is chosen: after another choice it plays what was chosen before
/// until its session has ended, and its notes are of that phrase.
static bool
plays_chosen(SrPractiseWindow* const window)
{
  return sr_sitting_chosen(window->sitting) == window->chosen;
}

/// The state of the stage that goes with the sitting.
static SrStageState
state_of(SrPractiseWindow* const window)
{
  size_t reached = 0;
  (void)sr_sitting_notes(window->sitting, &reached);
  const bool verdict = window->shown < sr_sitting_rounds(window->sitting)->len;
  const SrSittingPhase phase = sr_sitting_phase(window->sitting);
  switch (plays_chosen(window) || phase == SR_SITTING_RESTING ? phase : SR_SITTING_ENDING) {
  case SR_SITTING_PLAYING:
    return reached >= NOTES_TO_SHOW || !verdict ? SR_STAGE_PLAYING : SR_STAGE_VERDICT;
  case SR_SITTING_COUNTING:
    return SR_STAGE_PLAYING;
  case SR_SITTING_RESTING:
    return verdict ? SR_STAGE_VERDICT : SR_STAGE_RESTING;
  case SR_SITTING_OPENING:
  case SR_SITTING_READY:
  case SR_SITTING_SHOWING:
  case SR_SITTING_ENDING:
    break;
  }
  return verdict ? SR_STAGE_VERDICT : SR_STAGE_READY;
}

static void
show_notes(SrPractiseWindow* const window)
{
  size_t reached = 0;
  const SrNoteVerdict* const notes = sr_sitting_notes(window->sitting, &reached);
  const double now = sr_sitting_position(window->sitting);
  window->page = sr_page_at(window->chosen->phrase, now + PAGE_AHEAD);
  sr_round_area_show_notes(sr_stage_whole(window->stage), window->chosen, notes, reached,
                           window->page.first, window->page.count);
}

static gboolean
move_marker(GtkWidget* const widget, GdkFrameClock* const clock, void* const unused)
{
  (void)clock;
  (void)unused;
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(widget);
  if (!plays_chosen(window)) {
    return G_SOURCE_CONTINUE;
  }
  const double time = sr_sitting_position(window->sitting);
  SrRoundArea* const area = sr_stage_whole(window->stage);
  if (sr_page_at(window->chosen->phrase, time + PAGE_AHEAD).first != window->page.first) {
    show_notes(window);
  }
  sr_round_area_mark(area, time);
  return G_SOURCE_CONTINUE;
}

/// Whether the desktop wants things to move.
static bool
may_move(void)
{
  gboolean animations = TRUE;
  g_object_get(gtk_settings_get_default(), "gtk-enable-animations", &animations, NULL);
  return animations;
}

/// The marker moves only while somebody plays; without motion it stands at the last note.
static void
run_marker(SrPractiseWindow* const window, const bool runs)
{
  if (runs && !window->tick && may_move()) {
    window->tick = gtk_widget_add_tick_callback(GTK_WIDGET(window), move_marker, NULL, NULL);
  } else if (!runs && window->tick) {
    gtk_widget_remove_tick_callback(GTK_WIDGET(window), window->tick);
    window->tick = 0;
  }
  if (!runs) {
    sr_round_area_mark(sr_stage_whole(window->stage), (double)NAN);
  }
}

SrHeldRound*
sr_practise_window_round(SrPractiseWindow* const window)
{
  const GPtrArray* const rounds = sr_sitting_rounds(window->sitting);
  return window->shown < rounds->len ? (SrHeldRound*)g_ptr_array_index(rounds, window->shown)
                                     : NULL;
}

double
sr_practise_window_tempo(SrPractiseWindow* const window)
{
  const double target = window->settings.judge.target_bpm;
  // A session that is still ending has the tempo of what was practised before
  const bool same = sr_sitting_chosen(window->sitting) == window->chosen;
  const double bpm = same ? sr_sitting_bpm(window->sitting) : (double)NAN;
  return isfinite(bpm)      ? bpm
         : isfinite(target) ? target
         : window->chosen   ? sr_sound_tempo(window->chosen->phrase)
                            : (double)NAN;
}

static gboolean
wait_no_longer(void* const data)
{
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(data);
  window->patience = 0;
  gtk_window_destroy(GTK_WINDOW(window));
  return G_SOURCE_REMOVE;
}

/// It was closed: it goes once the take is saved and the devices are closed.
static void
go_once_over(SrPractiseWindow* const window)
{
  if (!sr_sitting_is_open(window->sitting)) {
    gtk_window_destroy(GTK_WINDOW(window));
  } else if (sr_sitting_session(window->sitting)) {
    // What is open is saved, however long that takes
    g_clear_handle_id(&window->patience, g_source_remove);
  }
}

static void
show_verdict(SrPractiseWindow* const window)
{
  SrHeldRound* const held = sr_practise_window_round(window);
  if (!held) {
    return;
  }
  sr_verdict_view_show(window->stage, held, &window->about);
  if (window->ladder && held->round->clean) {
    // The ladder says what comes next
    sr_big_label_say(sr_stage_under(window->stage), "");
  }
  if (held->chosen != window->chosen) {
    // What comes next is something else
    sr_round_area_show_phrase(sr_stage_whole(window->stage), window->chosen);
  }
}

static void
show_title(SrPractiseWindow* const window)
{
  const SrChosen* const chosen = window->chosen;
  const char* const title = sr_phrase_title(chosen->phrase);
  char* const bars = sr_chosen_bars(chosen);
  const char* const style = chosen->choice.style ? chosen->choice.style : "across";
  char* const buttons = chosen->plan ? g_strdup_printf(" · %s the rows", style) : g_strdup("");
  char* const under = g_strdup_printf("%s · %.0f pulses a minute%s", bars,
                                      sr_practise_window_tempo(window), buttons);
  adw_window_title_set_title(window->title, title[0] ? title : "Untitled");
  adw_window_title_set_subtitle(window->title, under);
  g_free(bars);
  g_free(buttons);
  g_free(under);
}

void
sr_practise_window_update(SrPractiseWindow* const window)
{
  if (window->closing) {
    go_once_over(window);
    return;
  }
  if (!window->chosen) {
    sr_stage_words_nothing(window);
    gtk_widget_set_visible(GTK_WIDGET(sr_stage_meter(window->stage)), FALSE);
    sr_window_actions_update(window);
    return;
  }
  gtk_widget_set_visible(GTK_WIDGET(sr_stage_meter(window->stage)), TRUE);
  const SrSittingPhase phase = sr_sitting_phase(window->sitting);
  const SrStageState state = state_of(window);
  char words[32];
  const bool changed = state != sr_stage_state(window->stage);
  sr_stage_set_state(window->stage, state);
  run_marker(window, state == SR_STAGE_PLAYING && phase == SR_SITTING_PLAYING);
  switch (state) {
  case SR_STAGE_READY:
    if (changed || phase == SR_SITTING_OPENING) {
      sr_round_area_show_phrase(sr_stage_whole(window->stage), window->chosen);
    }
    sr_stage_words_ready(window);
    break;
  case SR_STAGE_PLAYING:
    show_notes(window);
    sr_stage_words_playing(window);
    break;
  case SR_STAGE_VERDICT:
    show_verdict(window);
    break;
  case SR_STAGE_RESTING:
    sr_round_area_show_phrase(sr_stage_whole(window->stage), window->chosen);
    sr_stage_words_resting(window);
    break;
  }
  gtk_button_set_label(window->hear, phase == SR_SITTING_SHOWING ? "Stop" : "Hear it");
  if (phase == SR_SITTING_SHOWING) {
    // A verdict stays until the next one
    if (state != SR_STAGE_VERDICT) {
      sr_stage_words_listen(window);
    }
  } else {
    (void)sr_stage_words_held(window);
  }
  sr_window_actions_update(window);
  sr_day_run_update(window);
  const GPtrArray* const rounds = sr_sitting_rounds(window->sitting);
  sr_round_row_show(window->rows, rounds, window->shown);
  gtk_widget_set_visible(window->bottom, rounds->len > 0);
  char next[SR_LARGE_SIZE];
  gtk_label_set_label(window->hint, sr_stage_words_next(window, next));
  const bool rests = phase == SR_SITTING_RESTING || phase == SR_SITTING_ENDING;
  gtk_button_set_label(window->rest, rests ? "Begin" : "Rest");
  g_snprintf(words, sizeof(words), "%.0f", sr_practise_window_tempo(window));
  gtk_label_set_label(window->tempo, words);
  show_title(window);
  if (phase == SR_SITTING_RESTING && window->chosen && !sr_side_views_busy(window->sides) &&
      !sr_day_run_goes_on(window) && !sr_sitting_trouble(window->sitting)[0]) {
    sr_sitting_rest(window->sitting);
  }
}

static void
take_note(SrSitting* const sitting, const guint index, const gboolean amended,
          SrPractiseWindow* const window)
{
  (void)amended;
  if (!plays_chosen(window)) {
    return;
  }
  size_t reached = 0;
  const SrNoteVerdict* const note = &sr_sitting_notes(sitting, &reached)[index];
  char words[SR_LARGE_SIZE];
  if (sr_large_fault(window->chosen->phrase, note, words)) {
    g_strlcpy(window->fault, words, sizeof(window->fault));
    window->fault_bar = note->bar;
  }
  sr_practise_window_update(window);
}

static void
take_round(SrSitting* const sitting, void* const held, SrPractiseWindow* const window)
{
  window->fault[0] = '\0';
  // What was broken off by another choice is in the row, and nothing to look at now
  if (plays_chosen(window)) {
    window->shown = sr_sitting_rounds(sitting)->len - 1;
  }
  sr_ladder_run_round(window, (const SrHeldRound*)held);
}

static void
take_event(SrSitting* const sitting, const SrSessionEvent* const event,
           SrPractiseWindow* const window)
{
  SrInputMeter* const meter = sr_stage_meter(window->stage);
  if (sr_sitting_clock_event(&window->sat, event)) {
    sr_practise_window_say(window, sr_today_rest_words);
    sr_sitting_voice_add(window->voice, sr_today_rest_spoken);
  }
  if (event->kind == SR_SESSION_READY) {
    sr_input_meter_reset(meter);
    if (!window->remembered.click) {
      sr_sitting_send(sitting, (SrCommand){.kind = SR_COMMAND_CLICK, .value = 0.0});
    }
  } else if (event->kind == SR_SESSION_LEVEL) {
    const SrInputState before = sr_input_meter_state(meter);
    sr_input_meter_take(meter, event->level.peak, event->level.overdriven,
                        sr_sitting_phase(sitting) == SR_SITTING_PLAYING, event->at_s);
    if (sr_input_meter_state(meter) != before && sr_stage_state(window->stage) == SR_STAGE_READY &&
        sr_sitting_phase(sitting) == SR_SITTING_READY) {
      sr_stage_words_ready(window);
    }
  } else if (event->kind == SR_SESSION_AGAIN || event->kind == SR_SESSION_NOTHING) {
    window->fault[0] = '\0';
  } else if (event->kind == SR_SESSION_DROPOUT) {
    sr_practise_window_say(
        window, "The computer could not keep up for a moment; what was played there is not judged");
  }
}

void
sr_practise_window_begin(SrPractiseWindow* const window)
{
  if (window->chosen && !window->closing && !sr_side_views_busy(window->sides)) {
    window->fault[0] = '\0';
    sr_day_run_forget(window);
    sr_sitting_begin(window->sitting, window->chosen, &window->settings);
  }
}

static void
choose_round(SrRoundRow* const row, const guint index, SrPractiseWindow* const window)
{
  (void)row;
  window->shown = index;
  sr_practise_window_update(window);
}

static gboolean
focus_stage(void* const data)
{
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(data);
  gtk_window_set_focus(GTK_WINDOW(window), GTK_WIDGET(window->stage));
  return G_SOURCE_REMOVE;
}

/// The space bar, and a pedal, must not open the menu again once it was used.
static void
take_menu_closed(SrPractiseWindow* const window)
{
  g_idle_add_full(G_PRIORITY_DEFAULT_IDLE, focus_stage, g_object_ref(window), g_object_unref);
}

/// Setup or tuner has gone: practising goes on.
static void
take_side_over(SrSideViews* const sides, const gboolean listened, SrPractiseWindow* const window)
{
  (void)sides;
  if (listened) {
    sr_practise_window_begin(window);
  }
}

/// Put it out of sight until the sitting is over: the take is saved on another thread, and the
/// desktop need not wait for a window that does not answer.
static void
begin_closing(SrPractiseWindow* const window)
{
  const bool opening = !sr_sitting_session(window->sitting);
  window->closing = TRUE;
  sr_ladder_run_end(window, false);
  if (window->sheet) {
    gtk_window_destroy(GTK_WINDOW(window->sheet));
  }
  gtk_widget_set_visible(GTK_WIDGET(window), FALSE);
  sr_sitting_end(window->sitting);
  if (opening) {
    window->patience = g_timeout_add_seconds(OPENING_S, wait_no_longer, window);
  }
}

static gboolean
close_window(GtkWindow* const widget)
{
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(widget);
  SrRemembered* const remembered = &window->remembered;
  if (window->closing) {
    return TRUE;
  }
  if (sr_side_views_busy(window->sides)) {
    // Its devices are closed first
    sr_side_views_close(window->sides);
    return TRUE;
  }
  sr_day_run_leave(window);
  remembered->maximized = gtk_window_is_maximized(widget);
  if (!remembered->maximized && !gtk_window_is_fullscreen(widget)) {
    gtk_window_get_default_size(widget, &remembered->width, &remembered->height);
  }
  sr_remembered_write(remembered);
  run_marker(window, false);
  if (sr_sitting_is_open(window->sitting)) {
    begin_closing(window);
    return TRUE;
  }
  return GTK_WINDOW_CLASS(sr_practise_window_parent_class)->close_request(widget);
}

static void
window_dispose(GObject* const object)
{
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(object);
  sr_day_run_leave(window);
  if (window->sitting) {
    g_signal_handlers_disconnect_by_data(window->sitting, window);
    sr_sitting_close(window->sitting);
  }
  g_clear_handle_id(&window->patience, g_source_remove);
  sr_ladder_run_end(window, false);
  g_clear_object(&window->sides);
  g_clear_pointer(&window->voice, sr_sitting_voice_free);
  g_clear_weak_pointer(&window->sheet);
  g_clear_object(&window->sitting);
  g_clear_pointer(&window->chosen, sr_chosen_unref);
  sr_remembered_clear(&window->remembered);
  G_OBJECT_CLASS(sr_practise_window_parent_class)->dispose(object);
}

static void
sr_practise_window_class_init(SrPractiseWindowClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = window_dispose;
  GTK_WINDOW_CLASS(class)->close_request = close_window;
  g_type_ensure(SR_TYPE_DAY_BAR);
  g_type_ensure(SR_TYPE_STAGE);
  g_type_ensure(SR_TYPE_ROUND_ROW);
  gtk_widget_class_set_template_from_resource(widget,
                                              "/org/steadyreed/Steadyreed/practise_window.ui");
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, toasts);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, title);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, controls);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, menu);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, stage);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, rows);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, tempo);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, rest);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, hear);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, bottom);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, hint);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, day_bar);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, today);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, offer);
  gtk_widget_class_bind_template_child(widget, SrPractiseWindow, not_now);
}

/// A narrow window has its title on two lines before it cuts it short. AdwWindowTitle has no
/// setting for that: its first label is the title.
static void
wrap_title(GtkWidget* const widget)
{
  GtkWidget* found = widget;
  while (found && !GTK_IS_LABEL(found)) {
    found = gtk_widget_get_first_child(found);
  }
  if (found) {
    gtk_label_set_wrap(GTK_LABEL(found), TRUE);
    gtk_label_set_lines(GTK_LABEL(found), 2);
    gtk_label_set_justify(GTK_LABEL(found), GTK_JUSTIFY_CENTER);
  }
}

static void
sr_practise_window_init(SrPractiseWindow* const window)
{
  window->shown = G_MAXUINT;
  gtk_widget_init_template(GTK_WIDGET(window));
  wrap_title(GTK_WIDGET(window->title));
  gtk_widget_add_css_class(GTK_WIDGET(window), "practise");
  gtk_widget_add_css_class(GTK_WIDGET(sr_stage_under(window->stage)), "soft");
  sr_flow_cells_pass_focus(window->controls);
  window->sitting = sr_sitting_new();
  window->sides = sr_side_views_new(GTK_WINDOW(window), window->sitting, &window->settings.stream,
                                    &window->remembered);
  g_signal_connect(window->sides, "over", G_CALLBACK(take_side_over), window);
  g_signal_connect_swapped(window->sides, "closing", G_CALLBACK(gtk_window_close), window);
  window->voice = sr_sitting_voice_new(window->sitting);
  g_signal_connect_swapped(window->sitting, "changed", G_CALLBACK(sr_practise_window_update),
                           window);
  g_signal_connect(window->sitting, "note", G_CALLBACK(take_note), window);
  g_signal_connect(window->sitting, "round", G_CALLBACK(take_round), window);
  g_signal_connect_swapped(window->sitting, "woken", G_CALLBACK(sr_practise_window_begin), window);
  g_signal_connect(window->sitting, "heard", G_CALLBACK(take_event), window);
  g_signal_connect_swapped(window->sitting, "said", G_CALLBACK(sr_practise_window_say), window);
  g_signal_connect_object(gtk_menu_button_get_popover(window->menu), "closed",
                          G_CALLBACK(take_menu_closed), window, G_CONNECT_SWAPPED);
  g_signal_connect(window->rows, "chosen", G_CALLBACK(choose_round), window);
  sr_night_follow(GTK_WIDGET(window));
  sr_choosing_begin(window);
  sr_window_keys_add(window);
  gtk_window_set_focus(GTK_WINDOW(window), GTK_WIDGET(window->stage));
}

GtkWidget*
sr_practise_window_new(GtkApplication* const application, const SrWindowRequest* const request)
{
  SrPractiseWindow* const window =
      SR_PRACTISE_WINDOW(g_object_new(SR_TYPE_PRACTISE_WINDOW, "application", application, NULL));
  window->settings = *request->settings;
  window->sat = sr_sitting_clock_begin();
  window->remembered = sr_remembered_read();
  SrStreamSettings* const stream = &window->settings.stream;
  stream->input = stream->input ? stream->input : window->remembered.input;
  stream->output = stream->output ? stream->output : window->remembered.output;
  // What the command line leaves open is as it was last
  if (window->settings.ready_midi < 0 && window->settings.start_wait_s == 0.0) {
    window->settings.ready_midi = window->remembered.ready_midi;
    window->settings.start_wait_s = window->remembered.start_wait_s;
    window->settings.count_in_each =
        window->settings.count_in_each || window->remembered.count_in_each;
  }
  if (window->remembered.width > 0 && window->remembered.height > 0) {
    gtk_window_set_default_size(GTK_WINDOW(window), window->remembered.width,
                                window->remembered.height);
  }
  if (window->remembered.maximized) {
    gtk_window_maximize(GTK_WINDOW(window));
  }
  if (window->remembered.speak || request->speak) {
    (void)sr_sitting_voice_switch(window->voice, true);
  }
  window->settings.tones =
      !window->settings.silent && (window->settings.tones || window->remembered.tones);
  sr_window_actions_add(window);
  sr_choosing_first(window, request->choice);
  if (request->ladder) {
    g_action_group_change_action_state(G_ACTION_GROUP(window), "ladder",
                                       g_variant_new_boolean(TRUE));
  }
  sr_practise_window_update(window);
  sr_side_views_offer_setup(window->sides, window->offer, window->not_now);
  if (request->recording) {
    sr_side_views_open_recording(window->sides, request->recording);
  }
  return GTK_WIDGET(window);
}
