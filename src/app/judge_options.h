// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file judge_options.h
   The options of `assess` and `class` that say what was to be played and how it is judged.
*/

#ifndef SR_APP_JUDGE_OPTIONS_H
#define SR_APP_JUDGE_OPTIONS_H

#include "phrase_options.h"
#include "plan_options.h"

#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>

#include <stdbool.h>

/// Values of these options for getopt_long(), apart from those of any command.
enum {
  SR_OPTION_NO_CLICK = 768,
  SR_OPTION_LONG_CUT,
};

/// What was named.
typedef struct {
  SrPhraseChoice choice;
  bool place; ///< Bars or a part were named
  SrJudgeSettings settings;
  bool no_click;
  SrPlanOptions plan;
} SrJudgeOptions;

/// None given.
SrJudgeOptions sr_judge_options_none(void);
/**
   Read one option, also one of phrase_options.h or plan_options.h.

   @param command Name of the command, for errors.
   @param text    Its value, which must live as long as the options.
   @param trouble Receives 0, or an exit status of an error, which was reported.
   @return False if it is none of these options.
*/
bool sr_judge_option(const char* command, int option, const char* text, SrJudgeOptions* options,
                     int* trouble);
/// Take the bars or the part from what the phrase's file asks for, unless they were named, and say
/// so.
void sr_judge_options_use_file(SrJudgeOptions* options, const char* phrase_path);
/// Free what they hold.
void sr_judge_options_clear(SrJudgeOptions* options);

#endif // SR_APP_JUDGE_OPTIONS_H
