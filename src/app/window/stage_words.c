// SPDX-License-Identifier: GPL-3.0-or-later

// The large words of the states without a verdict.

#include "practise_window_parts.h"

#include <steadyreed/show.h>

#include <math.h>
#include <string.h>

static void
say(SrPractiseWindow* const window, const char* const head, const char* const under,
    const bool fault)
{
  sr_big_label_set_fault(sr_stage_head(window->stage), fault);
  sr_big_label_say(sr_stage_head(window->stage), head);
  sr_big_label_say(sr_stage_under(window->stage), under);
}

/// A note's name without its octave.
static const char*
plain_name(const int midi, char name[SR_MIDI_NAME_SIZE])
{
  const SrShowStyle style = {.unicode = true};
  sr_show_midi_name(midi, &style, name);
  return sr_show_drop_octave(name);
}

/// The microphone, as it is called in a sentence.
static const char*
input_name(SrPractiseWindow* const window)
{
  const char* const name = sr_sitting_input(window->sitting);
  return strcmp(name, "default") == 0 ? "the default microphone" : name;
}

/// What is wrong with the microphone. Whether anything is.
static bool
say_input(SrPractiseWindow* const window)
{
  char words[SR_LARGE_SIZE];
  switch (sr_input_meter_state(sr_stage_meter(window->stage))) {
  case SR_INPUT_DEAD:
    g_snprintf(words, sizeof(words), "Nothing comes from %s. Is it muted, or is it the wrong one?",
               input_name(window));
    say(window, "The microphone is silent", words, true);
    return true;
  case SR_INPUT_LOUD:
    say(window, "Too loud", "Turn the microphone down, or move it away", true);
    return true;
  case SR_INPUT_SOFT:
    say(window, "Too soft", "Turn the microphone up, or move it nearer", true);
    return true;
  case SR_INPUT_GOOD:
    break;
  }
  return false;
}

/// What the click waits for. Whether it does.
static bool
say_wait(SrPractiseWindow* const window)
{
  const SrSittingWait wait = sr_sitting_wait(window->sitting);
  char head[SR_LARGE_SIZE] = "";
  char under[SR_LARGE_SIZE] = "";
  char name[SR_MIDI_NAME_SIZE];
  if (!wait.waits) {
    return false;
  }
  if (wait.midi >= 0) {
    g_snprintf(head, sizeof(head), "Hold a %s and let go", plain_name(wait.midi, name));
    g_snprintf(under, sizeof(under), "half a second, then the click counts in; or just play");
  }
  if (isfinite(wait.left_s)) {
    char* const words = wait.midi >= 0 ? under : head;
    g_snprintf(words, SR_LARGE_SIZE, "The click counts in in %.0f s", ceil(wait.left_s));
  }
  say(window, head[0] ? head : "Play when you like", under, false);
  return true;
}

void
sr_stage_words_nothing(SrPractiseWindow* const window)
{
  say(window, "Choose a phrase", "Press Phrase, at the top, or drop an ABC file here", false);
}

void
sr_stage_words_ready(SrPractiseWindow* const window)
{
  char words[SR_LARGE_SIZE] = "";
  char name[SR_MIDI_NAME_SIZE];
  if (sr_sitting_phase(window->sitting) == SR_SITTING_OPENING) {
    say(window, "", "Opening the microphone", false);
    return;
  }
  // The pause and its countdown go on whatever the microphone does, and in it nobody plays
  if (sr_day_run_say_pause(window) || say_input(window) || say_wait(window)) {
    return;
  }
  if (window->ladder) {
    (void)sr_ladder_run_words(window, words);
  } else if (window->settings.signal_midi >= 0 && !window->settings.silent) {
    g_snprintf(words, sizeof(words), "or hold the low %s: two seconds, and you hear it",
               plain_name(window->settings.signal_midi, name));
  }
  say(window, "Play when you like", words, false);
}

void
sr_stage_words_playing(SrPractiseWindow* const window)
{
  char words[64] = "";
  if (sr_sitting_phase(window->sitting) == SR_SITTING_COUNTING) {
    unsigned number = 0;
    unsigned total = 0;
    sr_sitting_count_in(window->sitting, &number, &total);
    g_snprintf(words, sizeof(words), number == total ? "%u, play" : "%u", number);
    say(window, words, "", false);
    return;
  }
  if (window->fault[0]) {
    g_snprintf(words, sizeof(words), window->fault_bar > 0 ? "bar %d" : "pickup",
               window->fault_bar);
  }
  say(window, window->fault, words, true);
}

void
sr_stage_words_listen(SrPractiseWindow* const window)
{
  const bool phrase = sr_sitting_plays(window->sitting) == SR_PLAYING_PHRASE;
  say(window, phrase ? "Listen: this is how it goes" : "Listen", "", false);
}

void
sr_stage_words_resting(SrPractiseWindow* const window)
{
  // It stays here: who comes back to the screen has not seen it go by
  const char* const trouble = sr_sitting_trouble(window->sitting);
  if (trouble[0]) {
    say(window, "Nothing listens", trouble, true);
  } else if (!sr_day_run_say_sum(window)) {
    say(window, "Resting", "Play, or press space, to go on", false);
  }
}

bool
sr_stage_words_held(SrPractiseWindow* const window)
{
  SrSignalMeaning meaning = SR_SIGNAL_NONE;
  const double held_s = sr_sitting_held_s(window->sitting, &meaning);
  if (!(held_s > 0.0)) {
    return false;
  }
  switch (meaning) {
  case SR_SIGNAL_SHORT:
    say(window, "Hold the low note …", "two seconds to hear it, four to finish", false);
    break;
  case SR_SIGNAL_PLAY:
    say(window, "Let go: you hear it", "twice: slower; hold on: finish", false);
    break;
  case SR_SIGNAL_SLOWER:
    say(window, "Let go: slower", "hold on: finish", false);
    break;
  case SR_SIGNAL_END:
    say(window, "Let go: finished", "", false);
    break;
  case SR_SIGNAL_NONE:
    return false;
  }
  return true;
}

const char*
sr_stage_words_next(SrPractiseWindow* const window, char words[SR_LARGE_SIZE])
{
  const SrSittingWait wait = sr_sitting_wait(window->sitting);
  char name[SR_MIDI_NAME_SIZE];
  switch (sr_sitting_phase(window->sitting)) {
  case SR_SITTING_RESTING:
    return sr_sitting_trouble(window->sitting)[0] ? "Nothing listens: space tries again"
                                                  : "Resting: play, or press space, to go on";
  case SR_SITTING_ENDING:
    return "The take is being saved";
  case SR_SITTING_SHOWING:
    return "Listen; space stops it";
  case SR_SITTING_READY:
    if (wait.waits && wait.midi >= 0) {
      g_snprintf(words, SR_LARGE_SIZE, "Hold a %s: the click counts in",
                 plain_name(wait.midi, name));
      return words;
    }
    if (wait.waits && isfinite(wait.left_s)) {
      g_snprintf(words, SR_LARGE_SIZE, "The click counts in in %.0f s", ceil(wait.left_s));
      return words;
    }
    switch (sr_input_meter_state(sr_stage_meter(window->stage))) {
    case SR_INPUT_DEAD:
      return "The microphone is silent";
    case SR_INPUT_LOUD:
      return "Too loud: turn the microphone down";
    case SR_INPUT_SOFT:
      return "Too soft: turn the microphone up";
    case SR_INPUT_GOOD:
      break;
    }
    return window->ladder ? sr_ladder_run_words(window, words) : "Play on: the next round counts";
  case SR_SITTING_OPENING:
  case SR_SITTING_COUNTING:
  case SR_SITTING_PLAYING:
    break;
  }
  return "";
}
