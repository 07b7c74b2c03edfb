// SPDX-License-Identifier: GPL-3.0-or-later

// What is practised: from the command line, the sheet, a file dropped on the window, or bars
// dragged over.

#include "../sound_take.h"
#include "file_drop.h"
#include "practise_window_parts.h"

#include <steadyreed/data_place.h>
#include <steadyreed/preferences.h>

#include <math.h>
#include <stdlib.h>

static void
name_picture(SrPractiseWindow* const window)
{
  char* const bars = sr_chosen_bars(window->chosen);
  char* const label =
      g_strdup_printf("%s, %s", window->chosen->plan ? "Bellows line" : "Line of pitches", bars);
  gtk_accessible_update_property(GTK_ACCESSIBLE(sr_stage_whole(window->stage)),
                                 GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  g_free(label);
  g_free(bars);
}

/// Say why a file cannot be practised, and where in it.
static void
say_unread(SrPractiseWindow* const window, const SrChoice* const choice, const SrError* const error)
{
  char* const name = g_filename_display_basename(choice->path);
  char* const words = error->line
                          ? g_strdup_printf("%s, line %u: %s", name, error->line, error->message)
                          : g_strdup_printf("%s: %s", name, error->message);
  sr_practise_window_say(window, words);
  g_free(words);
  g_free(name);
}

/// Practise a phrase that was read. Takes it.
static void
use(SrPractiseWindow* const window, SrChosen* const chosen)
{
  sr_day_run_leave(window);
  sr_ladder_run_end(window, false);
  g_clear_pointer(&window->chosen, sr_chosen_unref);
  window->chosen = chosen;
  window->shown = G_MAXUINT;
  window->about = (SrBarRange){0, 0};
  SrChoice copy = sr_choice_copy(&chosen->choice);
  sr_choice_clear(&window->remembered.choice);
  window->remembered.choice = copy;
  sr_remembered_add_recent(&window->remembered, chosen->choice.path);
  if (!chosen->choice.unplanned && !chosen->plan) {
    sr_practise_window_say(window, chosen->plan_error.message);
  }
  sr_round_area_show_phrase(sr_stage_whole(window->stage), chosen);
  name_picture(window);
  sr_compare_rounds_look(window);
  sr_practise_window_begin(window);
}

void
sr_choosing_put(SrPractiseWindow* const window, SrChosen* const chosen)
{
  g_clear_pointer(&window->chosen, sr_chosen_unref);
  window->chosen = chosen;
  name_picture(window);
  sr_compare_rounds_look(window);
}

bool
sr_choosing_switch_bars(SrPractiseWindow* const window, const SrChoice* const choice)
{
  SrError error = {0};
  SrChosen* const chosen = sr_chosen_new(choice, &error);
  if (!chosen) {
    say_unread(window, choice, &error);
    return false;
  }
  sr_choosing_put(window, chosen);
  sr_practise_window_begin(window);
  return true;
}

bool
sr_practise_window_choose(SrPractiseWindow* const window, const SrChoice* const choice)
{
  SrError error = {0};
  SrChosen* const chosen = sr_chosen_new(choice, &error);
  if (!chosen) {
    say_unread(window, choice, &error);
    return false;
  }
  use(window, chosen);
  return true;
}

static void
choose_bars(SrRoundArea* const area, const guint first, const guint last,
            SrPractiseWindow* const window)
{
  (void)area;
  SrChoice choice = sr_choice_copy(&window->chosen->choice);
  const SrPhraseBar* const from = sr_phrase_bar(window->chosen->phrase, first);
  const SrPhraseBar* const to = sr_phrase_bar(window->chosen->phrase, last);
  choice.first_bar = MIN(from->number, to->number);
  choice.last_bar = MAX(from->number, to->number);
  if (choice.last_bar > 0) {
    (void)sr_practise_window_choose(window, &choice);
  }
  sr_choice_clear(&choice);
}

/// Practise what was chosen in the sheet, and remember it as the commands do.
static void
take_choice(SrPhraseSheet* const sheet, const SrPhraseSheetState* const state,
            SrPractiseWindow* const window)
{
  (void)sheet;
  // Its settings are not those of today's items
  sr_day_run_leave(window);
  SrError error = {0};
  // The devices are not chosen in the sheet, and may have been elsewhere since
  const SrStreamSettings stream = window->settings.stream;
  window->settings = state->settings;
  window->settings.stream = stream;
  window->remembered.click = state->click;
  window->remembered.ready_midi = state->settings.ready_midi;
  window->remembered.start_wait_s = state->settings.start_wait_s;
  window->remembered.count_in_each = state->settings.count_in_each;
  window->remembered.bpm = state->settings.judge.target_bpm;
  if (sr_preferences_keep(state->choice->layout, state->choice->style, NULL, &error) != SR_OK) {
    sr_practise_window_say(window, error.message);
  }
  use(window, sr_chosen_ref(state->chosen));
  sr_window_actions_update(window);
  if (state->ladder) {
    g_action_group_change_action_state(G_ACTION_GROUP(window), "ladder",
                                       g_variant_new_boolean(TRUE));
  }
}

/// Learn from a recording that was chosen in the sheet; NULL to ask for one.
static void
learn_from(SrPhraseSheet* const sheet, const char* const path, SrPractiseWindow* const window)
{
  (void)sheet;
  sr_side_views_open_recording(window->sides, path);
}

SrPhraseSheet*
sr_choosing_open_sheet(SrPractiseWindow* const window)
{
  if (window->sheet) {
    return window->sheet;
  }
  SrSessionSettings settings = window->settings;
  gboolean click = window->remembered.click;
  sr_day_run_restore(window, &settings, &click);
  const SrPhraseSheetState state = {.choice = window->chosen ? &window->chosen->choice
                                                             : &window->remembered.choice,
                                    .settings = settings,
                                    .click = click};
  SrPhraseSheet* const sheet = sr_phrase_sheet_open(GTK_WINDOW(window), &state,
                                                    (const char* const*)window->remembered.recent);
  g_signal_connect_object(sheet, "chosen", G_CALLBACK(take_choice), window, 0);
  g_signal_connect_object(sheet, "recording", G_CALLBACK(learn_from), window, 0);
  g_set_weak_pointer(&window->sheet, sheet);
  return sheet;
}

static void
take_drop(GtkWidget* const widget, const char* const path)
{
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(widget);
  if (sr_sound_take_is(path)) {
    sr_side_views_open_recording(window->sides, path);
  } else {
    sr_phrase_sheet_take_file(sr_choosing_open_sheet(window), path);
  }
}

/// Practise what was learnt by ear, at the tempo it was played at.
static void
take_learnt(SrSideViews* const sides, const char* const path, SrPractiseWindow* const window)
{
  (void)sides;
  SrChoice choice = sr_choice_copy(&window->remembered.choice);
  g_free(choice.path);
  g_clear_pointer(&choice.title, g_free);
  choice.path = g_strdup(path);
  choice.tune = choice.first_bar = choice.last_bar = choice.transpose = 0;
  choice.part = '\0';
  window->settings.judge.target_bpm = (double)NAN;
  window->remembered.bpm = (double)NAN;
  (void)sr_practise_window_choose(window, &choice);
  sr_choice_clear(&choice);
}

void
sr_choosing_begin(SrPractiseWindow* const window)
{
  g_signal_connect(sr_stage_whole(window->stage), "bars-chosen", G_CALLBACK(choose_bars), window);
  g_signal_connect(window->sides, "learnt", G_CALLBACK(take_learnt), window);
  sr_file_drop_let(GTK_WIDGET(window), take_drop);
}

/// The demo's phrase; free() it. NULL if it is missing.
static char*
demo_phrase(void)
{
  char* path = NULL;
  return sr_data_place("exercises/three-as.abc", &path, NULL) == SR_OK ? path : NULL;
}

void
sr_choosing_first(SrPractiseWindow* const window, const SrChoice* const asked)
{
  if (asked->path && sr_practise_window_choose(window, asked)) {
    return;
  }
  SrChoice last = sr_choice_copy(&window->remembered.choice);
  if (!last.path || asked->path || !sr_practise_window_choose(window, &last)) {
    char* const path = demo_phrase();
    SrChoice demo = {.path = path, .layout = last.layout, .style = last.style};
    if (path && !asked->path) {
      (void)sr_practise_window_choose(window, &demo);
    }
    free(path);
  }
  sr_choice_clear(&last);
}
