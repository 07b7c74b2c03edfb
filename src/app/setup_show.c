// SPDX-License-Identifier: GPL-3.0-or-later

#include "setup_show.h"

#include "plan_options.h"
#include "say.h"

#include <steadyreed/layout.h>
#include <steadyreed/plan.h>

#include <math.h>
#include <stdio.h>

/// Columns per reed in the table, and most reeds on a line.
#define REED_COLUMNS 10
#define REEDS_BESIDE 7

static void
show_reeds(const SrProfile* const profile)
{
  const size_t columns = sr_say_columns(stdout);
  const size_t fitting = columns / REED_COLUMNS;
  const size_t most = columns && fitting < REEDS_BESIDE ? fitting : REEDS_BESIDE;
  size_t shown = 0;
  for (int midi = SR_LOWEST_MIDI; midi <= SR_HIGHEST_MIDI; ++midi) {
    double cents;
    char text[SR_MIDI_NAME_SIZE];
    if (sr_profile_reed(profile, midi, &cents)) {
      printf("%s%4s %+3.0f", shown % most == 0 ? (shown ? "\n  " : "  ") : "  ",
             sr_show_midi_name(midi, &(SrShowStyle){0}, text), cents);
      ++shown;
    }
  }
  putchar('\n');
}

static void
show_bellows(const SrSetup* const setup)
{
  if (!isfinite(setup->bellows_at_a4)) {
    sr_say_text(stdout, "Bellows: not measured; plans assume 15 s from shut to full for an A4.\n");
    return;
  }
  char differ[64] = "";
  if (isfinite(setup->bellows_uncertainty)) {
    snprintf(differ, sizeof(differ), ", single strokes differ by %.0f %%",
             100.0 * setup->bellows_uncertainty);
  }
  sr_say_format(stdout, "Bellows: an A4 lasts %.1f s from shut to full%s.\n",
                SR_BELLOWS_UNITS / setup->bellows_at_a4, differ);
}

/// Show the instrument and style that plans are for.
static void
show_choice(void)
{
  SrError error = {0};
  SrPreferences chosen;
  if (sr_preferences_read(&chosen, &error) != SR_OK) {
    sr_say_error(&error);
  }
  char words[SR_CHOICE_WORDS_SIZE];
  const bool any = chosen.layout || chosen.style;
  sr_plan_options_words(chosen.layout ? chosen.layout : SR_USUAL_LAYOUT,
                        chosen.style ? chosen.style : sr_plan_wish_style_name(0), words,
                        sizeof(words));
  sr_say_format(stdout, "Plans: %s%s.\n", words,
                any ? ", as you chose with `plan` or `practise`" : "; you have chosen nothing yet");
  sr_preferences_clear(&chosen);
}

void
sr_setup_show(const SrSetup* const setup)
{
  if (isfinite(setup->floor_dbfs)) {
    sr_say_format(stdout, "Room: %.0f dB below full scale.\n", -setup->floor_dbfs);
  }
  if (isfinite(setup->round_trip_s)) {
    sr_say_format(stdout, "Click to microphone: %.1f ms, give or take %.1f (%s and %s).\n",
                  1e3 * setup->round_trip_s, 1e3 * setup->round_trip_spread_s, setup->output,
                  setup->input);
  } else {
    sr_say_paragraph(stdout, 2,
                     "Click to microphone: not measured; on headphones it cannot say whether you "
                     "are ahead or behind.");
  }
  show_bellows(setup);
  show_choice();
  if (!setup->profile) {
    sr_say_text(stdout, "Reeds: not measured yet; they are learnt each time you practise.\n");
    return;
  }
  sr_say_format(stdout, "Reeds: A is %.1f Hz. Cents off equal temperament:\n",
                sr_profile_reference_hz(setup->profile));
  show_reeds(setup->profile);
}
