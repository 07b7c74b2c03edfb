// SPDX-License-Identifier: GPL-3.0-or-later

// What the window's buttons, menu and keys do.

#include "../keys.h"
#include "desktop/about.h"
#include "playback.h"
#include "practise_window_parts.h"
#include "progress_view.h"
#include "window_keys.h"

#include <steadyreed/sound.h>

#include <math.h>

static SrPractiseWindow*
window_of(void* const data)
{
  return SR_PRACTISE_WINDOW(data);
}

/// Whether something is played to the player; then the same button stops it.
static bool
stop_playing(SrPractiseWindow* const window)
{
  const bool plays = sr_sitting_phase(window->sitting) == SR_SITTING_SHOWING;
  if (plays) {
    sr_sitting_send(window->sitting, (SrCommand){.kind = SR_COMMAND_PLAY_STOP});
  }
  return plays;
}

static void
hear(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  SrPractiseWindow* const window = window_of(data);
  if (!stop_playing(window)) {
    sr_sitting_send(window->sitting, (SrCommand){.kind = SR_COMMAND_PLAY_PHRASE});
  }
}

static void
choose(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  (void)sr_choosing_open_sheet(window_of(data));
}

/// All bars again, after some were chosen.
static void
all_bars(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  SrPractiseWindow* const window = window_of(data);
  if (!window->chosen) {
    return;
  }
  SrChoice choice = sr_choice_copy(&window->chosen->choice);
  choice.first_bar = 0;
  choice.last_bar = 0;
  (void)sr_practise_window_choose(window, &choice);
  sr_choice_clear(&choice);
}

static void
play(SrPractiseWindow* const window, const SrPlaybackKind kind)
{
  SrError error = {0};
  if (!stop_playing(window) &&
      !sr_playback_begin(window->sitting, kind, sr_practise_window_round(window), window->about,
                         &error)) {
    sr_practise_window_say(window, error.message);
  }
}

static void
my_round(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  play(window_of(data), SR_PLAYBACK_ROUND);
}

static void
slow_bar(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  play(window_of(data), SR_PLAYBACK_ROUND_BARS);
}

static void
slow_phrase(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  play(window_of(data), SR_PLAYBACK_BARS);
}

static void
change_tempo(SrPractiseWindow* const window, const double factor)
{
  const double bpm = round(sr_practise_window_tempo(window) * factor);
  if (isfinite(bpm) && bpm >= SR_SLOWEST_BPM && bpm <= SR_FASTEST_BPM) {
    window->settings.judge.target_bpm = bpm;
    window->remembered.bpm = bpm;
    sr_sitting_send(window->sitting, (SrCommand){.kind = SR_COMMAND_TEMPO, .value = bpm});
    sr_practise_window_update(window);
  }
}

static void
slower(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  change_tempo(window_of(data), 1.0 / SR_TEMPO_STEP);
}

static void
faster(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  change_tempo(window_of(data), SR_TEMPO_STEP);
}

static void
rest(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  SrPractiseWindow* const window = window_of(data);
  if (sr_sitting_phase(window->sitting) == SR_SITTING_RESTING) {
    sr_practise_window_begin(window);
  } else {
    sr_sitting_end(window->sitting);
  }
}

/// The pedal's one job: begin, count in, or stop what is played.
static void
go_on(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  SrPractiseWindow* const window = window_of(data);
  if (sr_sitting_phase(window->sitting) == SR_SITTING_RESTING) {
    sr_practise_window_begin(window);
  } else if (!stop_playing(window)) {
    sr_sitting_send(window->sitting, (SrCommand){.kind = SR_COMMAND_COUNT_IN});
  }
}

static void
step_round(SrPractiseWindow* const window, const int step)
{
  const guint count = sr_sitting_rounds(window->sitting)->len;
  const gint64 wanted = (gint64)window->shown + step;
  if (count > 0 && wanted >= 0 && wanted < (gint64)count) {
    window->shown = (guint)wanted;
    sr_practise_window_update(window);
  }
}

static void
earlier_round(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  step_round(window_of(data), -1);
}

static void
later_round(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  step_round(window_of(data), 1);
}

static void
compare(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_compare_rounds(window_of(data));
}

static void
full_screen(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  GtkWindow* const window = GTK_WINDOW(data);
  if (gtk_window_is_fullscreen(window)) {
    gtk_window_unfullscreen(window);
  } else {
    gtk_window_fullscreen(window);
  }
}

static void
open_setup(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_side_views_open(window_of(data)->sides, SR_SIDE_SETUP);
}

static void
open_tuner(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_side_views_open(window_of(data)->sides, SR_SIDE_TUNER);
}

static void
choose_today(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_day_run_choose(window_of(data));
}

static void
next_item(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_day_run_next(window_of(data));
}

static void
end_today(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_day_run_stop(window_of(data));
}

static void
open_takes(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_side_views_open(window_of(data)->sides, SR_SIDE_TAKES);
}

static void
learn_by_ear(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_side_views_open_recording(window_of(data)->sides, NULL);
}

static void
about(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_about_show(GTK_WINDOW(data));
}

static void
show_keys(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_window_keys_show(window_of(data));
}

static void
open_progress(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  sr_progress_view_open(GTK_WINDOW(data));
}

static void
close_window(GSimpleAction* const action, GVariant* const parameter, void* const data)
{
  (void)action;
  (void)parameter;
  gtk_window_close(GTK_WINDOW(data));
}

static void
set_click(GSimpleAction* const action, GVariant* const value, void* const data)
{
  SrPractiseWindow* const window = window_of(data);
  const gboolean on = g_variant_get_boolean(value);
  g_simple_action_set_state(action, value);
  if (on == window->remembered.click) {
    return;
  }
  window->remembered.click = on;
  sr_sitting_send(window->sitting, (SrCommand){.kind = SR_COMMAND_CLICK, .value = on ? 1.0 : 0.0});
}

static void
set_ladder(GSimpleAction* const action, GVariant* const value, void* const data)
{
  SrPractiseWindow* const window = window_of(data);
  if (!g_variant_get_boolean(value)) {
    sr_ladder_run_end(window, true);
  } else if (!sr_ladder_run_begin(window, sr_practise_window_tempo(window))) {
    return;
  }
  g_simple_action_set_state(action, value);
}

static void
set_speak(GSimpleAction* const action, GVariant* const value, void* const data)
{
  SrPractiseWindow* const window = window_of(data);
  if (!sr_sitting_voice_switch(window->voice, g_variant_get_boolean(value))) {
    sr_practise_window_say(window, "This build cannot speak: speech-dispatcher's library was "
                                   "missing. A tone after each round needs none.");
    return;
  }
  window->remembered.speak = g_variant_get_boolean(value);
  g_simple_action_set_state(action, value);
}

static void
set_tones(GSimpleAction* const action, GVariant* const value, void* const data)
{
  SrPractiseWindow* const window = window_of(data);
  g_simple_action_set_state(action, value);
  window->remembered.tones = g_variant_get_boolean(value);
  window->settings.tones = window->remembered.tones && !window->settings.silent;
  if (sr_sitting_phase(window->sitting) != SR_SITTING_RESTING) {
    sr_practise_window_begin(window);
  }
}

static void
add_switch(SrPractiseWindow* const window, const char* const name, const bool on,
           void (*const change)(GSimpleAction*, GVariant*, void*))
{
  GSimpleAction* const action = g_simple_action_new_stateful(name, NULL, g_variant_new_boolean(on));
  g_signal_connect(action, "change-state", G_CALLBACK(change), window);
  g_action_map_add_action(G_ACTION_MAP(window), G_ACTION(action));
  g_object_unref(action);
}

void
sr_window_actions_add(SrPractiseWindow* const window)
{
  static const GActionEntry entries[] = {
      {.name = "choose", .activate = choose},
      {.name = "all-bars", .activate = all_bars},
      {.name = "hear", .activate = hear},
      {.name = "my-round", .activate = my_round},
      {.name = "slow-bar", .activate = slow_bar},
      {.name = "slow-phrase", .activate = slow_phrase},
      {.name = "slower", .activate = slower},
      {.name = "faster", .activate = faster},
      {.name = "rest", .activate = rest},
      {.name = "go-on", .activate = go_on},
      {.name = "earlier-round", .activate = earlier_round},
      {.name = "later-round", .activate = later_round},
      {.name = "compare", .activate = compare},
      {.name = "full-screen", .activate = full_screen},
      {.name = "keys", .activate = show_keys},
      {.name = "close", .activate = close_window},
      {.name = "progress", .activate = open_progress},
      {.name = "setup", .activate = open_setup},
      {.name = "tuner", .activate = open_tuner},
      {.name = "by-ear", .activate = learn_by_ear},
      {.name = "about", .activate = about},
      {.name = "today", .activate = choose_today},
      {.name = "next-item", .activate = next_item},
      {.name = "end-today", .activate = end_today},
      {.name = "takes", .activate = open_takes},
  };
  g_action_map_add_action_entries(G_ACTION_MAP(window), entries, G_N_ELEMENTS(entries), window);
  add_switch(window, "click", window->remembered.click, set_click);
  add_switch(window, "speak", sr_sitting_voice_is_on(window->voice), set_speak);
  add_switch(window, "ladder", false, set_ladder);
  add_switch(window, "tones", window->settings.tones, set_tones);
}

static void
enable(SrPractiseWindow* const window, const char* const name, const bool on)
{
  GAction* const action = g_action_map_lookup_action(G_ACTION_MAP(window), name);
  if (action && g_action_get_enabled(action) != on) {
    g_simple_action_set_enabled(G_SIMPLE_ACTION(action), on);
  }
}

void
sr_window_actions_update(SrPractiseWindow* const window)
{
  const SrSittingPhase phase = sr_sitting_phase(window->sitting);
  const bool listens = phase == SR_SITTING_READY || phase == SR_SITTING_COUNTING ||
                       phase == SR_SITTING_PLAYING || phase == SR_SITTING_SHOWING;
  const bool sounds = listens && !window->settings.silent;
  const bool shown = sr_practise_window_round(window) != NULL;
  const SrChoice* const choice = window->chosen ? &window->chosen->choice : NULL;
  GAction* const ladder = g_action_map_lookup_action(G_ACTION_MAP(window), "ladder");
  g_simple_action_set_state(G_SIMPLE_ACTION(ladder), g_variant_new_boolean(window->ladder != NULL));
  enable(window, "all-bars", choice && (choice->first_bar || choice->last_bar));
  enable(window, "hear", sounds);
  enable(window, "my-round", sounds && shown);
  enable(window, "slow-bar", sounds && shown);
  enable(window, "slow-phrase", sounds);
  enable(window, "compare", sr_compare_rounds_can(window));
  GAction* const click = g_action_map_lookup_action(G_ACTION_MAP(window), "click");
  g_action_change_state(click, g_variant_new_boolean(window->remembered.click));
  enable(window, "click", !window->settings.silent);
  enable(window, "tones", !window->settings.silent);
  const bool any = window->chosen != NULL;
  const bool day = sr_day_run_is_active(window);
  enable(window, "today", !day);
  enable(window, "next-item", day);
  enable(window, "end-today", day);
  enable(window, "slower", any);
  enable(window, "faster", any);
  enable(window, "ladder", any);
  enable(window, "rest", any && phase != SR_SITTING_OPENING && phase != SR_SITTING_ENDING);
  enable(window, "go-on", any && phase != SR_SITTING_OPENING && phase != SR_SITTING_ENDING);
}
