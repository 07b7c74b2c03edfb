// SPDX-License-Identifier: GPL-3.0-or-later

// The parts of the window, for the files that make it up.

#ifndef SR_WINDOW_PRACTISE_WINDOW_PARTS_H
#define SR_WINDOW_PRACTISE_WINDOW_PARTS_H

#include "../sitting_clock.h"
#include "day_bar.h"
#include "day_run.h"
#include "one_sitting.h"
#include "pages.h"
#include "phrase_sheet.h"
#include "practise_window.h"
#include "remembered.h"
#include "round_row.h"
#include "side_views.h"
#include "sitting_voice.h"
#include "stage.h"
#include "verdict_view.h"

#include <steadyreed/large_words.h>

typedef struct SrLadderRunImpl SrLadderRun;

struct _SrPractiseWindow {
  AdwApplicationWindow parent_instance;
  AdwToastOverlay* toasts;
  AdwWindowTitle* title;
  GtkFlowBox* controls;
  GtkMenuButton* menu;
  SrStage* stage;
  SrRoundRow* rows;
  GtkWidget* bottom; ///< With the rows
  GtkLabel* hint;    ///< What happens next, beside a verdict
  GtkLabel* tempo;
  GtkButton* rest;
  GtkButton* hear;
  SrPhraseSheet* sheet; ///< While it is open
  SrLadderRun* ladder;  ///< While one is climbed; NULL without
  SrDayRun* day;        ///< While items of today are played or summed up; NULL without
  SrDayBar* day_bar;
  GtkWidget* today;   ///< The button that shows them
  SrSittingClock sat; ///< How long the player has, today

  SrSitting* sitting;
  SrSideViews* sides;
  SrSittingVoice* voice;
  SrChosen* chosen; ///< NULL until a phrase was read
  SrSessionSettings settings;
  SrRemembered remembered;
  guint shown; ///< Index of the round that is shown; none from the number of rounds on
  SrBarRange about;
  char fault[SR_LARGE_SIZE]; ///< Of the round that goes on
  int fault_bar;
  SrBarRange page; ///< Shown while playing
  guint tick;
  gboolean closing; ///< It was closed, and goes once the sitting is over
  guint patience;   ///< Source that ends this wait
};

// practise_window.c

/// Say a sentence at the bottom for a while.
void sr_practise_window_say(SrPractiseWindow* window, const char* words);
/// Bring everything in line with the sitting.
void sr_practise_window_update(SrPractiseWindow* window);
/// Begin a sitting with what is chosen.
void sr_practise_window_begin(SrPractiseWindow* window);
/// The tempo now, pulses a minute.
double sr_practise_window_tempo(SrPractiseWindow* window);
/// The round that is shown; NULL for none.
SrHeldRound* sr_practise_window_round(SrPractiseWindow* window);

// choosing.c

/// Let files be dropped, and bars be dragged over.
void sr_choosing_begin(SrPractiseWindow* window);
/// Practise the phrase that is asked for, else the last one, else the demo's.
void sr_choosing_first(SrPractiseWindow* window, const SrChoice* asked);
/// Practise another phrase, or the same otherwise; what was chosen before stays if it cannot be
/// read, which is said.
bool sr_practise_window_choose(SrPractiseWindow* window, const SrChoice* choice);
/// The sheet in which to choose, open already or from now on.
SrPhraseSheet* sr_choosing_open_sheet(SrPractiseWindow* window);

/// Have something chosen, which is taken, without beginning; the verdict on the last round stays.
void sr_choosing_put(SrPractiseWindow* window, SrChosen* chosen);
/// Play other bars of what is practised; the verdict on the last round stays.
bool sr_choosing_switch_bars(SrPractiseWindow* window, const SrChoice* choice);

// compare_rounds.c

/// Whether a round is shown, to set another beside it.
bool sr_compare_rounds_can(SrPractiseWindow* window);
/// Set the round shown beside the one before it, or a kept take; others can be chosen there.
void sr_compare_rounds(SrPractiseWindow* window);

// ladder_run.c

/// Climb a ladder with what is chosen, up to a tempo. False, with words, if that cannot be.
bool sr_ladder_run_begin(SrPractiseWindow* window, double wanted_bpm);
/// Play a drill, all of its bars, faster from day to day. False, with words, if that cannot be.
bool sr_ladder_run_begin_drill(SrPractiseWindow* window);
/// Climb no longer; go back to what was chosen before if `restore`. Does nothing without a ladder.
void sr_ladder_run_end(SrPractiseWindow* window, bool restore);
/// What to play next, in words.
const char* sr_ladder_run_words(SrPractiseWindow* window, char words[SR_LARGE_SIZE]);
/// A round was played.
void sr_ladder_run_round(SrPractiseWindow* window, const SrHeldRound* held);

// stage_words.c

/// What is said while nothing is chosen.
void sr_stage_words_nothing(SrPractiseWindow* window);
/// … while nobody plays, and nothing is judged yet.
void sr_stage_words_ready(SrPractiseWindow* window);
/// … while a round goes on, or is counted in.
void sr_stage_words_playing(SrPractiseWindow* window);
/// … while something is played to the player.
void sr_stage_words_listen(SrPractiseWindow* window);
/// … between two sittings.
void sr_stage_words_resting(SrPractiseWindow* window);
/// … while the low note is held: what letting go does. Whether it is.
bool sr_stage_words_held(SrPractiseWindow* window);

/// What happens next, in a few words beside a verdict.
const char* sr_stage_words_next(SrPractiseWindow* window, char words[SR_LARGE_SIZE]);

// window_actions.c

/// Give the window its actions.
void sr_window_actions_add(SrPractiseWindow* window);
/// Enable those that make sense now.
void sr_window_actions_update(SrPractiseWindow* window);

#endif // SR_WINDOW_PRACTISE_WINDOW_PARTS_H
