// SPDX-License-Identifier: GPL-3.0-or-later

#include "day_run.h"

#include "../item_clock.h"
#include "day_reading.h"
#include "day_view.h"
#include "practise_window_parts.h"

#include <steadyreed/show.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <string.h>

/// What is otherwise while items are played, as it was before.
typedef struct {
  SrChosen* chosen; ///< NULL if nothing was
  double target_bpm;
  double remembered_bpm;
  double start_wait_s;
  double first_wait_s;
  double silence_s;
  unsigned on_bars;
  unsigned off_bars;
  gboolean click;
} Before;

struct SrDayRunImpl {
  SrDay* day;                  ///< NULL once all is over
  size_t order[SR_TODAY_MOST]; ///< Items that are wanted
  size_t at;                   ///< In that order
  SrItemClock clock;           ///< Of the item
  SrTodaySum sum;              ///< So far
  size_t rounds_before;        ///< … when the item began
  bool announced;              ///< The item was
  bool item_over;              ///< The next follows once nothing listens
  bool all_over;               ///< … or none
  bool silent;                 ///< Silence has ended the item
  guint next;                  ///< Source that goes on to the next
  gulong handlers[3];
  Before before;
  char head[SR_LARGE_SIZE]; ///< The summary
  char* under;
};

static void begin_items(SrPractiseWindow* window);

static const SrTodayItem*
item_of(const SrDayRun* const run)
{
  return &run->day->items[run->order[run->at]];
}

bool
sr_day_run_is_active(const SrPractiseWindow* const window)
{
  return window->day && window->day->day;
}

bool
sr_day_run_goes_on(const SrPractiseWindow* const window)
{
  return sr_day_run_is_active(window) && window->day->item_over;
}

/// The pause before each item: the player's own, if there is one.
static double
pause_s(const SrPractiseWindow* const window)
{
  return window->settings.start_wait_s > 0.0 ? window->settings.start_wait_s : SR_TODAY_PAUSE_S;
}

static Before
keep_before(SrPractiseWindow* const window)
{
  const SrSessionSettings* const settings = &window->settings;
  return (Before){.chosen = window->chosen ? sr_chosen_ref(window->chosen) : NULL,
                  .target_bpm = settings->judge.target_bpm,
                  .remembered_bpm = window->remembered.bpm,
                  .start_wait_s = settings->start_wait_s,
                  .first_wait_s = settings->first_wait_s,
                  .silence_s = settings->silence_s,
                  .on_bars = settings->on_bars,
                  .off_bars = settings->off_bars,
                  .click = window->remembered.click};
}

void
sr_day_run_restore(const SrPractiseWindow* const window, SrSessionSettings* const settings,
                   gboolean* const click)
{
  if (!sr_day_run_is_active(window)) {
    return;
  }
  const Before* const before = &window->day->before;
  settings->judge.target_bpm = before->target_bpm;
  settings->start_wait_s = before->start_wait_s;
  settings->first_wait_s = before->first_wait_s;
  settings->silence_s = before->silence_s;
  settings->on_bars = before->on_bars;
  settings->off_bars = before->off_bars;
  *click = before->click;
}

static void
restore(SrPractiseWindow* const window)
{
  sr_day_run_restore(window, &window->settings, &window->remembered.click);
  window->remembered.bpm = window->day->before.remembered_bpm;
}

static void
disconnect(SrPractiseWindow* const window)
{
  SrDayRun* const run = window->day;
  g_clear_handle_id(&run->next, g_source_remove);
  for (size_t i = 0; i < G_N_ELEMENTS(run->handlers); ++i) {
    g_clear_signal_handler(&run->handlers[i], window->sitting);
  }
}

static void
free_run(SrPractiseWindow* const window)
{
  SrDayRun* const run = g_steal_pointer(&window->day);
  sr_day_free(run->day);
  sr_chosen_unref(run->before.chosen);
  g_free(run->under);
  g_free(run);
}

void
sr_day_run_leave(SrPractiseWindow* const window)
{
  if (window->day) {
    if (window->day->day) {
      disconnect(window);
      sr_ladder_run_end(window, false);
      restore(window);
    }
    free_run(window);
  }
}

void
sr_day_run_forget(SrPractiseWindow* const window)
{
  if (window->day && !window->day->day) {
    free_run(window);
  }
}

/// The summary, with the word that it is enough for a day.
static void
sum_up(const SrPractiseWindow* const window, SrDayRun* const run)
{
  char words[SR_TODAY_SUM_SIZE];
  const double before_s = run->day->sources.played_s;
  const bool rest = before_s < SR_TODAY_REST_S && window->sat.sat_s >= SR_TODAY_REST_S;
  if (run->sum.rounds == 0 && run->silent) {
    g_snprintf(run->head, sizeof(run->head), "No round was heard");
  } else {
    g_snprintf(run->head, sizeof(run->head), "Done: %zu of %zu", run->sum.done, run->sum.count);
  }
  run->under =
      g_strconcat(sr_today_sum(&run->sum, words), rest ? "\n" : NULL, sr_today_rest_words, NULL);
}

static void
finish(SrPractiseWindow* const window)
{
  SrDayRun* const run = window->day;
  disconnect(window);
  sr_ladder_run_end(window, false);
  restore(window);
  sum_up(window, run);
  g_clear_pointer(&run->day, sr_day_free);
  if (run->before.chosen) {
    sr_choosing_put(window, sr_chosen_ref(run->before.chosen));
  }
  window->shown = G_MAXUINT;
  sr_practise_window_update(window);
}

static gboolean
go_on(void* const data)
{
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(data);
  SrDayRun* const run = window->day;
  const bool played = run->sum.rounds > run->rounds_before;
  run->next = 0;
  run->sum.done += played ? 1 : 0;
  ++run->at;
  if (run->all_over || run->at == run->sum.count || sr_today_nobody_plays(run->silent, played)) {
    finish(window);
  } else {
    begin_items(window);
  }
  return G_SOURCE_REMOVE;
}

/// The sitting must have said that it rests to everybody before the next item begins.
static void
go_on_when_resting(SrPractiseWindow* const window)
{
  SrDayRun* const run = window->day;
  if (run->item_over && !run->next && sr_sitting_phase(window->sitting) == SR_SITTING_RESTING) {
    run->next = g_idle_add(go_on, window);
  }
}

static void
end_item(SrPractiseWindow* const window)
{
  window->day->item_over = true;
  sr_ladder_run_end(window, false);
  sr_sitting_end(window->sitting);
  go_on_when_resting(window);
}

static void
take_change(SrPractiseWindow* const window)
{
  go_on_when_resting(window);
}

static void
take_round(SrSitting* const sitting, void* const data, SrPractiseWindow* const window)
{
  (void)sitting;
  const SrRound* const round = ((const SrHeldRound*)data)->round;
  SrTodaySum* const sum = &window->day->sum;
  ++sum->rounds;
  sum->clean += round->clean ? 1 : 0;
  sum->played_s += round->end_s - round->start_s;
}

/// A session has ended: by the low note or by silence so has the item, else the player rests, or
/// other bars follow.
static void
take_stop(SrDayRun* const run, const SrEndReason reason)
{
  run->silent = reason == SR_END_SILENCE;
  run->item_over = run->item_over || reason == SR_END_SIGNAL || reason == SR_END_SILENCE;
}

static void
take_event(SrSitting* const sitting, const SrSessionEvent* const event,
           SrPractiseWindow* const window)
{
  (void)sitting;
  SrDayRun* const run = window->day;
  const bool sounds = sr_sitting_voice_sounds(window->voice);
  if (event->kind == SR_SESSION_READY && !run->announced) {
    char words[SR_TODAY_SPOKEN_SIZE];
    run->announced = true;
    sr_sitting_voice_announce(
        window->voice, sr_today_announce(&run->day->sources, item_of(run), run->at == 0, words));
  } else if (event->kind == SR_SESSION_STOPPED) {
    take_stop(run, event->stopped.reason);
  }
  if (sr_item_clock_event(&run->clock, event, sounds) && !run->item_over) {
    end_item(window);
  } else if (event->kind == SR_SESSION_LEVEL) {
    sr_day_run_update(window);
  }
}

/// Play an item. False, with words, if it cannot be read.
static bool
begin_item(SrPractiseWindow* const window)
{
  SrDayRun* const run = window->day;
  const SrTodayItem* const item = item_of(run);
  const SrPhraseChoice part = sr_today_item_choice(&run->day->sources, item);
  const SrChosen* const before = run->before.chosen;
  const SrChoice choice = {.path = run->day->sources.places[item->source].path,
                           .tune = part.tune,
                           .first_bar = part.first_bar,
                           .last_bar = part.last_bar,
                           .transpose = part.transpose,
                           .layout = before ? before->choice.layout : NULL,
                           .style = before ? before->choice.style : NULL,
                           .unplanned = before && before->choice.unplanned};
  SrError error = {0};
  SrChosen* const chosen = sr_chosen_new(&choice, &error);
  if (!chosen) {
    sr_practise_window_say(window, error.message);
    return false;
  }
  sr_ladder_run_end(window, false);
  sr_choosing_put(window, chosen);
  window->shown = G_MAXUINT;
  window->settings.judge.target_bpm = (double)NAN;
  sr_today_item_settings(item, &window->settings);
  run->clock = (SrItemClock){.most_s = sr_today_item_s(item, &window->settings)};
  run->rounds_before = run->sum.rounds;
  run->announced = false;
  run->item_over = false;
  run->silent = false;
  return item->kind == SR_TODAY_BARS ? sr_ladder_run_begin(window, sr_sound_tempo(chosen->phrase))
                                     : sr_ladder_run_begin_drill(window);
}

/// Play the item that comes next and can be read.
static void
begin_items(SrPractiseWindow* const window)
{
  SrDayRun* const run = window->day;
  while (run->at < run->sum.count && !begin_item(window)) {
    ++run->at;
  }
  if (run->at == run->sum.count) {
    finish(window);
  }
}

static void
begin_day(SrDayView* const view, SrDay* const day, const gboolean* const wanted,
          SrPractiseWindow* const window)
{
  (void)view;
  sr_day_run_leave(window);
  SrDayRun* const run = g_new0(SrDayRun, 1);
  run->day = day;
  for (size_t i = 0; i < day->count; ++i) {
    if (wanted[i]) {
      run->order[run->sum.count++] = i;
    }
  }
  sr_ladder_run_end(window, true);
  run->before = keep_before(window);
  const double wait_s = pause_s(window);
  sr_today_settings(&window->settings);
  window->settings.start_wait_s = wait_s;
  window->remembered.click = TRUE;
  window->day = run;
  run->handlers[0] =
      g_signal_connect_swapped(window->sitting, "changed", G_CALLBACK(take_change), window);
  run->handlers[1] = g_signal_connect(window->sitting, "round", G_CALLBACK(take_round), window);
  run->handlers[2] = g_signal_connect(window->sitting, "heard", G_CALLBACK(take_event), window);
  begin_items(window);
}

void
sr_day_run_choose(SrPractiseWindow* const window)
{
  GtkWidget* const view = sr_day_view_new(GTK_WINDOW(window), pause_s(window));
  g_signal_connect_object(view, "begin", G_CALLBACK(begin_day), window, 0);
  gtk_window_present(GTK_WINDOW(view));
}

void
sr_day_run_next(SrPractiseWindow* const window)
{
  if (sr_day_run_is_active(window)) {
    end_item(window);
  }
}

void
sr_day_run_stop(SrPractiseWindow* const window)
{
  if (sr_day_run_is_active(window)) {
    window->day->all_over = true;
    end_item(window);
  }
}

/// "2 of 4 · 3 min left · First Cuts"
static void
say_place(SrPractiseWindow* const window)
{
  const SrDayRun* const run = window->day;
  const double left_s = run->clock.most_s - run->clock.spent_s;
  char title[SR_TODAY_NAME_SIZE];
  char left[48];
  if (left_s > 0.0) {
    g_snprintf(left, sizeof(left), "%.0f min left", fmax(1.0, round(left_s / 60.0)));
  } else {
    g_snprintf(left, sizeof(left), "ends at the next pause");
  }
  char* const words = g_strdup_printf("%zu of %zu · %s · %s", run->at + 1, run->sum.count, left,
                                      sr_today_name(&run->day->sources, item_of(run), title));
  sr_day_bar_say(window->day_bar, words);
  g_free(words);
}

void
sr_day_run_update(SrPractiseWindow* const window)
{
  const bool active = sr_day_run_is_active(window) && window->day->at < window->day->sum.count;
  gtk_widget_set_visible(GTK_WIDGET(window->day_bar), active);
  gtk_widget_set_visible(window->today, !window->day && window->chosen &&
                                            sr_sitting_rounds(window->sitting)->len == 0);
  if (active) {
    say_place(window);
  }
}

static void
say(SrPractiseWindow* const window, const char* const head, const char* const under)
{
  sr_big_label_set_fault(sr_stage_head(window->stage), FALSE);
  sr_big_label_say(sr_stage_head(window->stage), head);
  sr_big_label_say(sr_stage_under(window->stage), under);
}

bool
sr_day_run_say_pause(SrPractiseWindow* const window)
{
  const SrDayRun* const run = window->day;
  const SrSittingWait wait = sr_sitting_wait(window->sitting);
  if (!sr_day_run_is_active(window) || !wait.waits || run->sum.rounds > run->rounds_before) {
    return false;
  }
  const SrTodayItem* const item = item_of(run);
  char title[SR_TODAY_NAME_SIZE];
  char name[SR_MIDI_NAME_SIZE];
  char* const head = g_strdup_printf(
      "%s %s", run->at == 0 ? "First:" : "Next:", sr_today_name(&run->day->sources, item, title));
  GString* const under = g_string_new(NULL);
  g_string_printf(under, "%.0f minutes: %s\n", ceil(item->minutes), sr_today_task(item->kind));
  if (isfinite(wait.left_s)) {
    g_string_append_printf(under, "Rest your hands: the click begins in %.0f s", ceil(wait.left_s));
  }
  if (wait.midi >= 0) {
    const SrShowStyle style = {.unicode = true};
    sr_show_midi_name(wait.midi, &style, name);
    name[strcspn(name, "-0123456789")] = '\0';
    g_string_append_printf(under, ", or when you have held a %s", name);
  }
  say(window, head, under->str);
  g_string_free(under, TRUE);
  g_free(head);
  return true;
}

bool
sr_day_run_say_sum(SrPractiseWindow* const window)
{
  const SrDayRun* const run = window->day;
  if (!run || run->day) {
    return false;
  }
  say(window, run->head, run->under);
  return true;
}
