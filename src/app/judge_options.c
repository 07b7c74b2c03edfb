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
  SrJudgeSettings* const settings = &options->settings;
  const SrPhraseOptions phrase = {&options->choice, &settings->target_bpm, &settings->reference_hz};
  *trouble = 0;
  if (sr_phrase_option(command, option, text, &phrase, trouble)) {
    options->place = options->place || sr_phrase_option_is_place(option);
    return true;
  }
  switch (option) {
  case SR_OPTION_NO_CLICK:
    options->no_click = true;
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
