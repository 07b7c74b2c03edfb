// SPDX-License-Identifier: GPL-3.0-or-later

// The tempo ladder in the window: after each round the bars and the tempo to play next.

#include "../ladder_start.h"
#include "practise_window_parts.h"

#include <steadyreed/ladder.h>
#include <steadyreed/sound.h>

#include <math.h>

/// What comes next begins once the voice has spoken; it is looked at this often, s, and waited for
/// no longer than this.
#define LOOK_S 0.25
#define MOST_WAIT_S 10.0

struct SrLadderRunImpl {
  SrLadder* ladder;
  SrChosen* whole; ///< All bars of the ladder, each once
  SrChoice before; ///< What was chosen before
  double wanted_bpm;
  guint timer;
  double waited_s;
};

/// The bars of a choice, each of them once.
static SrChosen*
read_once(const SrChosen* const chosen, SrError* const error)
{
  SrChoice once = sr_choice_copy(&chosen->choice);
  const SrBarSpan bars = sr_ladder_all_bars(chosen->phrase);
  once.first_bar = bars.first;
  once.last_bar = bars.last;
  SrChosen* const whole = sr_chosen_new(&once, error);
  sr_choice_clear(&once);
  return whole;
}

/// The bars that a ladder of these begins with; NULL for all of them.
static SrChosen*
read_first(const SrChosen* const whole)
{
  const SrBarSpan bars = sr_ladder_first_bars(whole->phrase);
  SrChoice choice = sr_choice_copy(&whole->choice);
  choice.first_bar = bars.first;
  choice.last_bar = bars.last;
  choice.unplanned = true;
  SrChosen* const first = bars.last > 0 ? sr_chosen_new(&choice, NULL) : NULL;
  sr_choice_clear(&choice);
  return first;
}

/// Play the bars of a rung.
static void
open_bars(SrPractiseWindow* const window, const SrLadderRung* const rung)
{
  const SrLadderRun* const run = window->ladder;
  SrChoice choice = sr_choice_copy(&run->whole->choice);
  const SrBarSpan bars = sr_ladder_rung_bars(run->whole->phrase, rung);
  if (bars.last > 0) {
    choice.first_bar = bars.first;
    choice.last_bar = bars.last;
  }
  (void)sr_choosing_switch_bars(window, &choice);
  sr_choice_clear(&choice);
}

static void
set_tempo(SrPractiseWindow* const window, const double bpm)
{
  window->settings.judge.target_bpm = bpm;
  sr_sitting_send(window->sitting, (SrCommand){.kind = SR_COMMAND_TEMPO, .value = bpm});
}

/// Whether only the tempo changed.
static bool
is_other_tempo(const SrLadderRung* const rung)
{
  return rung->moved == SR_LADDER_UP || rung->moved == SR_LADDER_DOWN;
}

/// The next count-in would cut the voice short, so it is waited for.
static gboolean
go_on_when_silent(void* const data)
{
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(data);
  SrLadderRun* const run = window->ladder;
  const SrSittingPhase phase = sr_sitting_phase(window->sitting);
  if (phase == SR_SITTING_RESTING || phase == SR_SITTING_ENDING) {
    // The player rests; nothing is opened until he begins again
    return G_SOURCE_CONTINUE;
  }
  run->waited_s += LOOK_S;
  if (sr_sitting_voice_sounds(window->voice) && run->waited_s < MOST_WAIT_S) {
    return G_SOURCE_CONTINUE;
  }
  run->timer = 0;
  const SrLadderRung rung = sr_ladder_now(run->ladder);
  if (is_other_tempo(&rung)) {
    set_tempo(window, rung.bpm);
  } else {
    open_bars(window, &rung);
  }
  return G_SOURCE_REMOVE;
}

const char*
sr_ladder_run_words(SrPractiseWindow* const window, char words[SR_LARGE_SIZE])
{
  const SrLadderRung rung = sr_ladder_now(window->ladder->ladder);
  if (rung.clean > 0) {
    sr_ladder_clean_words(&rung, words);
  } else {
    sr_ladder_words(window->ladder->whole->phrase, &rung, words);
  }
  return words;
}

void
sr_ladder_run_round(SrPractiseWindow* const window, const SrHeldRound* const held)
{
  SrLadderRun* const run = window->ladder;
  // The last round of bars that were left counts no more
  if (!run || run->timer || held->chosen != window->chosen) {
    return;
  }
  char words[SR_LADDER_WORDS_SIZE];
  const SrLadderRung rung = sr_ladder_round(run->ladder, sr_ladder_grade(held->round));
  if (rung.moved == SR_LADDER_SAME) {
    return;
  }
  sr_ladder_words(run->whole->phrase, &rung, words);
  sr_sitting_voice_add(window->voice, words);
  if (is_other_tempo(&rung) && !sr_sitting_voice_sounds(window->voice)) {
    set_tempo(window, rung.bpm);
  } else if (rung.moved != SR_LADDER_DONE) {
    window->settings.judge.target_bpm = rung.bpm;
    run->waited_s = 0.0;
    run->timer = g_timeout_add((guint)(1000.0 * LOOK_S), go_on_when_silent, window);
  }
}

static void
end_run(SrPractiseWindow* const window)
{
  SrLadderRun* const run = window->ladder;
  if (run) {
    g_clear_handle_id(&run->timer, g_source_remove);
    sr_ladder_del(run->ladder);
    g_clear_pointer(&run->whole, sr_chosen_unref);
    sr_choice_clear(&run->before);
    g_free(run);
    window->ladder = NULL;
  }
}

/// Climb a ladder; it and all its bars are taken.
static void
begin_run(SrPractiseWindow* const window, SrChosen* const whole, SrLadder* const ladder,
          const double wanted)
{
  SrLadderRun* const run = g_new0(SrLadderRun, 1);
  const SrLadderRung rung = sr_ladder_now(ladder);
  run->ladder = ladder;
  run->whole = whole;
  run->before = sr_choice_copy(&window->chosen->choice);
  run->wanted_bpm = wanted;
  window->ladder = run;
  window->settings.judge.target_bpm = rung.bpm;
  open_bars(window, &rung);
}

bool
sr_ladder_run_begin_drill(SrPractiseWindow* const window)
{
  const SrPhrase* const phrase = window->chosen->phrase;
  const double own_bpm = sr_sound_tempo(phrase);
  bool known = false;
  const SrLadderTempo tempo = sr_drill_start(phrase, own_bpm, &known);
  SrError error = {0};
  SrLadder* ladder = NULL;
  end_run(window);
  if (sr_ladder_new(phrase, &tempo, true, &ladder, &error) != SR_OK) {
    sr_practise_window_say(window, error.message);
    return false;
  }
  sr_ladder_keep_together(ladder);
  begin_run(window, sr_chosen_ref(window->chosen), ladder, own_bpm);
  return true;
}

bool
sr_ladder_run_begin(SrPractiseWindow* const window, const double wanted)
{
  end_run(window);
  SrError error = {0};
  SrChosen* const whole = window->chosen ? read_once(window->chosen, &error) : NULL;
  SrLadder* ladder = NULL;
  SrLadderTempo tempo = {0};
  if (whole) {
    SrChosen* const first = read_first(whole);
    const SrPhrase* const phrases[] = {window->chosen->phrase, whole->phrase,
                                       first ? first->phrase : NULL};
    tempo = sr_ladder_start(phrases, G_N_ELEMENTS(phrases), wanted, (double)NAN);
    sr_chosen_unref(first);
  }
  if (!whole || sr_ladder_new(whole->phrase, &tempo, false, &ladder, &error) != SR_OK) {
    sr_practise_window_say(window, error.message);
    sr_chosen_unref(whole);
    return false;
  }
  char words[SR_LADDER_WORDS_SIZE];
  const SrLadderRung rung = sr_ladder_now(ladder);
  (void)sr_ladder_words(whole->phrase, &rung, words);
  char* const said = g_strdup_printf("Tempo ladder. %s Three clean rounds take you up.", words);
  if (!sr_day_run_is_active(window)) {
    // The pause before an item says enough
    sr_practise_window_say(window, said);
  }
  g_free(said);
  begin_run(window, whole, ladder, wanted);
  return true;
}

void
sr_ladder_run_end(SrPractiseWindow* const window, const bool restore)
{
  if (!window->ladder) {
    return;
  }
  SrChoice before = sr_choice_copy(&window->ladder->before);
  const double wanted_bpm = window->ladder->wanted_bpm;
  end_run(window);
  if (restore) {
    window->settings.judge.target_bpm = wanted_bpm;
    (void)sr_choosing_switch_bars(window, &before);
  }
  sr_choice_clear(&before);
}
