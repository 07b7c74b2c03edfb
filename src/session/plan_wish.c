// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/plan_wish.h>

#include "wished_pins.h"

#include <steadyreed/layout.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Names of the shipped styles. The first is the default.
static const char* const styles[SR_PLAN_STYLES] = {
    [SR_STYLE_ACROSS] = "across", [SR_STYLE_ALONG] = "along"};

SrPlanWish
sr_plan_wish_default(void)
{
  return (SrPlanWish){.open = (double)NAN};
}

const char*
sr_plan_wish_style_name(const size_t index)
{
  return index < SR_PLAN_STYLES ? styles[index] : NULL;
}

/// A shipped style by its name, or one from a file.
static SrStatus
read_style(const char* const name, SrPlanStyle* const style, SrError* const error)
{
  for (size_t i = 0; i < SR_PLAN_STYLES; ++i) {
    if (!name || !strcmp(name, styles[i])) {
      *style = sr_plan_style(i);
      return SR_OK;
    }
  }
  const SrStatus status = sr_plan_style_read(name, style, error);
  if (status == SR_NOT_FOUND) {
    sr_error_set(error, status, "There is no such style. Choose %s, %s or a file of your own.",
                 styles[0], styles[1]);
    sr_error_place(error, name, 0, 0);
  }
  return status;
}

/// The bellows as measured, and as open as wished.
static SrBellows
wished_bellows(const SrPlanWish* const wish, const SrSetup* const setup)
{
  SrBellows bellows = sr_bellows_default();
  if (setup && isfinite(setup->bellows_at_a4) && isfinite(setup->bellows_power)) {
    bellows.at_a4 = setup->bellows_at_a4;
    bellows.octave_power = setup->bellows_power;
  }
  if (isfinite(wish->open)) {
    bellows.start = wish->open;
  }
  return bellows;
}

SrStatus
sr_plan_wish_read(const SrPlanWish* const wish, const SrSetup* const setup, const double bpm,
                  const SrPhrase* const phrase, SrWishedPlan* const wished, SrError* const error)
{
  const SrPlanWish nothing = sr_plan_wish_default();
  const SrPlanWish* const asked = wish ? wish : &nothing;
  *wished = (SrWishedPlan){.settings = {.bpm = isfinite(bpm) ? bpm : sr_sound_tempo(phrase),
                                        .bellows = wished_bellows(asked, setup),
                                        .plans = 1}};
  SrStatus status = sr_layout_read(asked->layout, &wished->instrument, error);
  if (status == SR_OK) {
    status = read_style(asked->style, &wished->settings.style, error);
  }
  return status == SR_OK ? sr_wished_pins_read(asked, phrase, wished, error) : status;
}

void
sr_wished_plan_clear(SrWishedPlan* const wished)
{
  sr_instrument_del(wished->instrument);
  free(wished->pins);
  *wished = (SrWishedPlan){.instrument = NULL};
}
