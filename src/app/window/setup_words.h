// SPDX-License-Identifier: GPL-3.0-or-later

// The sentences of the setup sheet: what to do at each step, how it goes, what was found.

#ifndef SR_WINDOW_SETUP_WORDS_H
#define SR_WINDOW_SETUP_WORDS_H

#include <steadyreed/setup_steps.h>

#include <glib.h>

/// Of a step, in a word or two.
const char* sr_setup_title(SrSetupStep step);
/// What to do, in one sentence, before the step and while it goes on.
const char* sr_setup_task(SrSetupStep step);
/// More about it.
const char* sr_setup_detail(SrSetupStep step);
/// What to beware of; NULL for nothing.
const char* sr_setup_caution(SrSetupStep step);
/**
   How it goes; g_free() it. NULL if this is nothing to be said.

   @param notes How many notes or strokes there are with this one.
*/
char* sr_setup_progress_words(const SrSetupProgress* progress, size_t notes);
/**
   What a step found; g_free() it.

   @param setup With the profile that was learnt; see sr_setup_take_over().
*/
char* sr_setup_found_words(const SrSetupFound* found, const SrSetup* setup);

#endif // SR_WINDOW_SETUP_WORDS_H
