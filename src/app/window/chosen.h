// SPDX-License-Identifier: GPL-3.0-or-later

// The phrase chosen in the window, with its plan. Nothing of it changes once it is made, so that
// several threads may read it.

#ifndef SR_WINDOW_CHOSEN_H
#define SR_WINDOW_CHOSEN_H

#include <steadyreed/phrase.h>
#include <steadyreed/plan.h>
#include <steadyreed/plan_wish.h>

#include <glib.h>

/// What a player chooses. Texts may be NULL.
typedef struct {
  char* path;
  int tune; ///< As in SrPhraseChoice, like the next five
  char* title;
  int first_bar;
  int last_bar;
  char part;
  int transpose;
  char* layout; ///< As in SrPlanWish; NULL for the usual one
  char* style;
  bool unplanned; ///< No buttons: the picture follows the pitch
} SrChoice;

/// A copy; clear it with sr_choice_clear().
SrChoice sr_choice_copy(const SrChoice* choice);
void sr_choice_clear(SrChoice* choice);

typedef struct {
  gatomicrefcount references;
  SrChoice choice;
  SrPhrase* phrase;
  char** places; ///< For the advice; NULL without a plan
  SrWishedPlan wished;
  SrPlans* plans;
  const SrPlan* plan; ///< NULL if there is none
  SrError plan_error; ///< Why there is none although one was wished
} SrChosen;

/**
   Read a phrase and plan it. One that cannot be planned is practised without a plan.

   @return NULL on error.
*/
SrChosen* sr_chosen_new(const SrChoice* choice, SrError* error);
/// Plan a phrase that was read already, which is taken.
SrChosen* sr_chosen_new_of(const SrChoice* choice, SrPhrase* phrase);
SrChosen* sr_chosen_ref(SrChosen* chosen);
/// NULL does nothing.
void sr_chosen_unref(SrChosen* chosen);
/// Its instrument; NULL without a plan.
const SrInstrument* sr_chosen_instrument(const SrChosen* chosen);
/// "bars 1 to 4", or "pickup and bars 1 to 4"; g_free() it.
char* sr_chosen_bars(const SrChosen* chosen);

#endif // SR_WINDOW_CHOSEN_H
