// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file plan_options.h
   The options by which a player says how a phrase is to be planned, the same in `plan`, `practise`
   and `assess`; and the instrument and style that were named last, which count until others are.
*/

#ifndef SR_APP_PLAN_OPTIONS_H
#define SR_APP_PLAN_OPTIONS_H

#include <steadyreed/phrase.h>
#include <steadyreed/plan_wish.h>
#include <steadyreed/preferences.h>

#include <stdbool.h>

/// Values of these options for getopt_long(), apart from those of any command.
enum {
  SR_OPTION_INSTRUMENT = 1024,
  SR_OPTION_STYLE,
  SR_OPTION_OPEN,
  SR_OPTION_PIN,
  SR_OPTION_CUT,
};

/// What was named.
typedef struct {
  SrPlanWish wish; ///< With what was remembered once sr_plan_options_recall() was called
  const char** pins;
  const char** cuts;
  bool named;               ///< Any of these options was given
  const char* named_layout; ///< As given; NULL if it was not
  const char* named_style;  ///< As given; NULL if it was not
  SrPreferences remembered; ///< What was named before
} SrPlanOptions;

/// None given.
SrPlanOptions sr_plan_options_none(void);
/**
   Read one option.

   @param command Name of the command, for errors.
   @param option  One of those above.
   @param text    Its value, which must live as long as the options.
   @return 0, or an exit status of an error, which was reported.
*/
int sr_plan_option(const char* command, int option, const char* text, SrPlanOptions* options);
/// Fill in the instrument and the style that were named last, if none is named now. An error is
/// reported, and then nothing is filled in.
void sr_plan_options_recall(SrPlanOptions* options);
/// The style's file that will be read; NULL if the style is a shipped one.
const char* sr_plan_options_style_file(const SrPlanOptions* options);
/**
   Say in one line, on standard error, what counts because it was named before.

   @param usual Also where it is what would count without that.
*/
void sr_plan_options_say(const SrPlanOptions* options, bool usual);
/// The same of the instrument alone, unless it is the usual one.
void sr_plan_options_say_layout(const SrPlanOptions* options);
/// Remember the instrument and style that are named now, and say so if they are others than before.
/// An error is reported; it is no reason to fail.
void sr_plan_options_remember(const SrPlanOptions* options);
/// Report why a phrase could not be planned, and what counts because it was named before. Returns
/// an exit status.
int sr_plan_options_refuse(const SrPlanOptions* options, const char* command, const SrError* error);
/**
   Plan a phrase for judging, as sr_plan_places() with the player's setup, and say what counts
   because it was named before. Without any wish there is no plan. Nor is there one if nothing is
   named now and what is remembered makes none for this phrase: that is said, and is no error.

   @param command  Name of the command, for errors.
   @param remember Also remember what is named now.
   @param bpm, phrase As for sr_plan_places().
   @param places   Receives them; NULL without a plan.
   @return 0, or an exit status of an error, which was reported.
*/
int sr_plan_options_places(const SrPlanOptions* options, const char* command, bool remember,
                           double bpm, SrPhrase* phrase, char*** places);
/// Size of what sr_plan_options_words() writes, bytes.
#define SR_CHOICE_WORDS_SIZE (2 * SR_PREFERENCE_MOST_BYTES + 32)
/// An instrument and a style in words, such as "for 20-g-d, along the rows"; either may be NULL.
void sr_plan_options_words(const char* layout, const char* style, char* words, size_t size);
/// Free what they hold.
void sr_plan_options_clear(SrPlanOptions* options);

#endif // SR_APP_PLAN_OPTIONS_H
