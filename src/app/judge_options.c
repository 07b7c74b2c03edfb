// SPDX-License-Identifier: GPL-3.0-or-later

#include "judge_options.h"

#include "assigned.h"
#include "option_values.h"

#include <string.h>

SrJudgeOptions
sr_judge_options_none(void)
{
  return (SrJudgeOptions){.settings = sr_judge_settings_default(), .plan = sr_plan_options_none()};
}

bool
sr_judge_option(const char* const command, const int option, const char* const text,
                SrJudgeOptions* const options, int* const trouble)
{
  SrPhraseChoice* const choice = &options->choice;
  SrJudgeSettings* const settings = &options->settings;
  *trouble = 0;
  switch (option) {
  case SR_OPTION_BARS:
    options->place = true;
    *trouble = sr_option_bars(command, text, choice);
    return true;
  case SR_OPTION_PART:
    options->place = true;
    *trouble = sr_option_part(command, text, choice);
    return true;
  case SR_OPTION_TUNE:
    *trouble = sr_option_tune(command, text, choice);
    return true;
  case SR_OPTION_TRANSPOSE:
    *trouble = sr_option_transpose(command, text, choice);
    return true;
  case SR_OPTION_TEMPO:
    *trouble = sr_option_number(command, "--tempo", "pulses a minute", text, SR_LOWEST_TEMPO,
                                SR_HIGHEST_TEMPO, &settings->target_bpm);
    return true;
  case SR_OPTION_NO_CLICK:
    options->no_click = true;
    return true;
  case SR_OPTION_REFERENCE:
    *trouble =
        sr_option_number(command, "--reference", "Hz", text, 400.0, 480.0, &settings->reference_hz);
    return true;
  case SR_OPTION_LONG_CUT:
    *trouble = sr_option_number(command, "--long-cut", "milliseconds", text, 20.0, 200.0,
                                &settings->long_cut_ms);
    return true;
  case SR_OPTION_INSTRUMENT:
  case SR_OPTION_STYLE:
  case SR_OPTION_OPEN:
  case SR_OPTION_PIN:
    *trouble = sr_plan_option(command, option, text, &options->plan);
    return true;
  default:
    return false;
  }
}

void
sr_judge_options_use_file(SrJudgeOptions* const options, const char* const phrase_path)
{
  const SrNamed named = {.place = options->place};
  const SrAssignment assignment = sr_assigned_read(phrase_path, &named, &options->choice);
  // The click and the ladder were the player's
  const SrAssignment place = {
      .first_bar = assignment.first_bar, .last_bar = assignment.last_bar, .part = assignment.part};
  sr_assigned_say(&place);
}

void
sr_judge_options_clear(SrJudgeOptions* const options)
{
  sr_plan_options_clear(&options->plan);
  memset(options, 0, sizeof(*options));
}
