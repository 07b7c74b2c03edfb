// SPDX-License-Identifier: GPL-3.0-or-later

#include "phrase_options.h"

#include "option_values.h"

bool
sr_phrase_option(const char* const command, const int option, const char* const text,
                 const SrPhraseOptions* const options, int* const trouble)
{
  switch (option) {
  case SR_OPTION_BARS:
    *trouble = sr_option_bars(command, text, options->choice);
    return true;
  case SR_OPTION_PART:
    *trouble = sr_option_part(command, text, options->choice);
    return true;
  case SR_OPTION_TUNE:
    *trouble = sr_option_tune(command, text, options->choice);
    return true;
  case SR_OPTION_TRANSPOSE:
    *trouble = sr_option_transpose(command, text, options->choice);
    return true;
  case SR_OPTION_TEMPO:
    *trouble = sr_option_number(command, "--tempo", "pulses a minute", text, SR_LOWEST_TEMPO,
                                SR_HIGHEST_TEMPO, options->bpm);
    return true;
  case SR_OPTION_REFERENCE:
    *trouble =
        sr_option_number(command, "--reference", "Hz", text, 400.0, 480.0, options->reference_hz);
    return true;
  default:
    return false;
  }
}

bool
sr_phrase_option_is_place(const int option)
{
  return option == SR_OPTION_BARS || option == SR_OPTION_PART;
}
