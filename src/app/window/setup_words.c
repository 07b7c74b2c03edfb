// SPDX-License-Identifier: GPL-3.0-or-later

#include "setup_words.h"

#include <steadyreed/show.h>

#include <math.h>

const char*
sr_setup_title(const SrSetupStep step)
{
  static const char* const words[SR_SETUP_STEPS] = {
      [SR_SETUP_ROOM] = "The room",
      [SR_SETUP_ROUND_TRIP] = "The way of the click",
      [SR_SETUP_REEDS] = "The reeds",
      [SR_SETUP_BELLOWS] = "The bellows",
  };
  return words[step];
}

const char*
sr_setup_task(const SrSetupStep step)
{
  static const char* const words[SR_SETUP_STEPS] = {
      [SR_SETUP_ROOM] = "Leave the box alone and be quiet for three seconds",
      [SR_SETUP_ROUND_TRIP] = "Hold one side of the headphones to the microphone",
      [SR_SETUP_REEDS] = "Play each note once, for about a second",
      [SR_SETUP_BELLOWS] =
          "Draw one note until the bellows are full, then press until they are shut",
  };
  return words[step];
}

const char*
sr_setup_detail(const SrSetupStep step)
{
  static const char* const words[SR_SETUP_STEPS] = {
      [SR_SETUP_ROOM] = "After that, play as loud as you ever do, for five seconds.",
      [SR_SETUP_ROUND_TRIP] =
          "You will hear four ticks, three times. With a loudspeaker, leave it where it is.",
      [SR_SETUP_REEDS] = "From the lowest to the highest, one at a time, press or draw as you "
                         "like. 12\u00A0seconds of silence end it, or the button.",
      [SR_SETUP_BELLOWS] = "Start shut, as loud as you play. Do it on a low, a middle and a high "
                           "note. 12\u00A0seconds of silence end it, or the button.",
  };
  return words[step];
}

const char*
sr_setup_caution(const SrSetupStep step)
{
  return step == SR_SETUP_ROUND_TRIP
             ? "Start with the volume low, above all on headphones: the ticks may be loud."
             : NULL;
}

static const char*
note_name(const int midi, char text[SR_MIDI_NAME_SIZE])
{
  const SrShowStyle style = {.unicode = true};
  return sr_show_midi_name(midi, &style, text);
}

char*
sr_setup_progress_words(const SrSetupProgress* const progress, const size_t notes)
{
  char name[SR_MIDI_NAME_SIZE];
  const SrFreeNote* const note = &progress->note;
  switch (progress->kind) {
  case SR_SETUP_FLOOR:
    return g_strdup(progress->floor.high ? "The room is noisy" : "The room is quiet enough");
  case SR_SETUP_TIMED:
    return isfinite(progress->timed.seconds)
               ? g_strdup_printf("%zu of %u: %.1f\u00A0ms", progress->timed.number, SR_SETUP_TIMES,
                                 1e3 * progress->timed.seconds)
               : g_strdup_printf("%zu of %u: not heard", progress->timed.number, SR_SETUP_TIMES);
  case SR_SETUP_REED:
    return g_strdup_printf(notes == 1 ? "%s, %zu note" : "%s, %zu notes",
                           note_name(note->midi, name), notes);
  case SR_SETUP_STROKE:
    return g_strdup_printf(notes == 1 ? "%s for %.1f\u00A0s, %zu stroke"
                                      : "%s for %.1f\u00A0s, %zu strokes",
                           note_name(note->midi, name), note->end_s - note->onset_s, notes);
  case SR_SETUP_OPENED:
  case SR_SETUP_LEVEL:
  case SR_SETUP_DEAD:
  case SR_SETUP_LOUDEST:
    break;
  }
  return NULL;
}

static char*
room_words(const SrSetupFound* const found)
{
  static const char* const loud[] = {
      [SR_SETUP_LOUD_GOOD] = "Your loudest is good.",
      [SR_SETUP_OVERDRIVEN] = "Your loudest is too loud for the microphone: turn it down, or move "
                              "away from it.",
      [SR_SETUP_NOT_HEARD] = "Your loudest is hardly louder than the room: is this the right "
                             "microphone?",
      [SR_SETUP_SOFT] = "Your loudest is soft: turn the microphone up, or move to about 30\u00A0cm "
                        "from it.",
  };
  if (found->outcome != SR_SETUP_MEASURED) {
    return g_strdup("The microphone gives nothing at all. Is it muted, or is it the wrong one?");
  }
  return g_strdup_printf("%s, %.0f\u00A0dB below full scale. %s",
                         found->floor_high
                             ? "The room is noisy (a fan, an open window, the microphone too high?)"
                             : "The room is quiet enough",
                         -found->floor_dbfs, loud[found->loudness]);
}

static char*
round_trip_words(const SrSetupFound* const found)
{
  if (found->outcome != SR_SETUP_MEASURED) {
    return g_strdup("The ticks were not heard each time, so nothing can be said of ahead and "
                    "behind on headphones. Try closer, or a little louder.");
  }
  if (!found->round_trip_steady) {
    return g_strdup_printf("The three measurements differ by %.0f\u00A0ms: too much to say whether "
                           "you are ahead or behind. Your spread is still measured.",
                           1e3 * found->round_trip_spread_s);
  }
  return g_strdup_printf("The click takes %.1f\u00A0ms to reach the microphone, give or take %.1f.",
                         1e3 * found->round_trip_s, 1e3 * found->round_trip_spread_s);
}

/// Reeds that a profile holds.
static unsigned
reeds_of(const SrProfile* const profile)
{
  unsigned count = 0;
  for (int midi = SR_LOWEST_MIDI; midi <= SR_HIGHEST_MIDI; ++midi) {
    double cents = 0.0;
    count += profile && sr_profile_reed(profile, midi, &cents);
  }
  return count;
}

static char*
reeds_words(const SrSetupFound* const found, const SrSetup* const setup)
{
  if (found->outcome != SR_SETUP_MEASURED || !setup->profile) {
    return g_strdup("No note was heard; what was known of the reeds stays.");
  }
  const unsigned reeds = reeds_of(setup->profile);
  return g_strdup_printf(reeds == 1 ? "%u reed was learnt; your A is %.1f\u00A0Hz."
                                    : "%u reeds were learnt; your A is %.1f\u00A0Hz.",
                         reeds, sr_profile_reference_hz(setup->profile));
}

static char*
bellows_words(const SrSetupFound* const found)
{
  if (found->outcome != SR_SETUP_MEASURED) {
    return g_strdup_printf(
        "No note was held for %.0f\u00A0seconds, so the bellows stay as they were.",
        SR_SETUP_STROKE_S);
  }
  return g_strdup_printf("The bellows last %.1f\u00A0seconds on an A4, from shut to full.",
                         SR_BELLOWS_UNITS / found->bellows.at_a4);
}

char*
sr_setup_found_words(const SrSetupFound* const found, const SrSetup* const setup)
{
  switch (found->step) {
  case SR_SETUP_ROOM:
    return room_words(found);
  case SR_SETUP_ROUND_TRIP:
    return round_trip_words(found);
  case SR_SETUP_REEDS:
    return reeds_words(found, setup);
  case SR_SETUP_BELLOWS:
    return bellows_words(found);
  }
  return g_strdup("");
}
