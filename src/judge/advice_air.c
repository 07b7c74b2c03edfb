// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file advice_air.c
   Advice on air releases that were heard.
*/

#include "adviser.h"
#include "tuning.h"

#include <math.h>

/// A remedy for what went wrong with a release.
static const char*
air_remedy(const SrAirRelease* const air)
{
  if (air->between) {
    return "take it under a note, where it can hide";
  }
  if (air->failed || isfinite(air->late_ms)) {
    return "let go of the air button before the next note";
  }
  if (air->note_dip_db > NOTED_DIP_DB) {
    return "press the button less, and sooner";
  }
  return "press the button less, for longer";
}

void
sr_advise_on_air(SrAdviser* const a)
{
  size_t audible = 0;
  const SrAirRelease* worst = NULL;
  for (size_t i = 0; i < a->round->air_count; ++i) {
    const SrAirRelease* const air = &a->round->air[i];
    audible += air->audible;
    if (air->audible && (!worst || air->over_mask_db > worst->over_mask_db)) {
      worst = air;
    }
  }
  if (!worst) {
    return;
  }
  char name[NAME_SIZE];
  sr_adviser_name_note(a, worst->note_index, name, sizeof(name));
  const char* const did = worst->failed                       ? ", and the next note did not speak"
                          : isfinite(worst->late_ms)          ? ", and the next note spoke late"
                          : worst->note_dip_db > NOTED_DIP_DB ? ", and the note dipped"
                          : fabs(worst->note_bend_cents) > NOTED_BEND_CENTS ? ", and the note bent"
                                                                            : "";
  // If it also spoiled the next note's start, that comes first
  const double spoilt = worst->failed || isfinite(worst->late_ms) ? 3.0 : 0.0;
  const double weight = (double)audible * (0.6 + fmin(worst->over_mask_db, 12.0) / 20.0) + spoilt;
  if (worst->between) {
    sr_adviser_say(a, weight, "%s: air was heard after %s, with no note to hide it%s%s; %s",
                   sr_adviser_place(a, worst->note_index), name, did, sr_adviser_again(a, audible),
                   air_remedy(worst));
  } else {
    sr_adviser_say(a, weight, "%s, %s: air heard, %.0f dB louder than the note can hide%s%s; %s",
                   sr_adviser_place(a, worst->note_index), name, worst->over_mask_db, did,
                   sr_adviser_again(a, audible), air_remedy(worst));
  }
}
