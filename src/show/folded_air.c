// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/folded.h>

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/// A note in all its times.
typedef struct {
  const SrPlan* plan;
  const SrPhrase* phrase;
  size_t bar;    ///< First playing
  size_t place;  ///< Of the note in its bar
  size_t stride; ///< Bars from time to time
  size_t times;
} Note;

static bool
takes_air(const Note* const note, const size_t time)
{
  const size_t index =
      sr_folded_first_note(note->phrase, note->bar + time * note->stride) + note->place;
  return index < note->plan->note_count && note->plan->notes[index].air > 0;
}

static const char*
ordinal(const size_t number)
{
  const size_t tens = number % 100;
  const bool teen = tens > 10 && tens < 20;
  return teen               ? "th"
         : number % 10 == 1 ? "st"
         : number % 10 == 2 ? "nd"
         : number % 10 == 3 ? "rd"
                            : "th";
}

/// "air times 2, 4".
static void
list_times(const Note* const note, char words[SR_FOLDED_AIR_SIZE])
{
  snprintf(words, SR_FOLDED_AIR_SIZE, "air times");
  const char* comma = " ";
  for (size_t time = 0; time < note->times; ++time) {
    const size_t at = strlen(words);
    if (takes_air(note, time) && at + 12 < SR_FOLDED_AIR_SIZE) {
      snprintf(words + at, SR_FOLDED_AIR_SIZE - at, "%s%zu", comma, time + 1);
      comma = ", ";
    } else if (takes_air(note, time)) {
      snprintf(words + at, SR_FOLDED_AIR_SIZE - at, " ...");
      return;
    }
  }
}

const char*
sr_folded_air(const SrPhrase* const phrase, const SrPlan* const plan, const SrFolded* const folded,
              const size_t part, const size_t bar, const size_t note,
              char words[SR_FOLDED_AIR_SIZE])
{
  const SrFoldedBar* const listed = &folded->bars[bar];
  const Note played = {.plan = plan,
                       .phrase = phrase,
                       .bar = listed->bar,
                       .place = note - sr_folded_first_note(phrase, listed->bar),
                       .stride = folded->parts[part].stride,
                       .times = listed->ending ? 1 : folded->parts[part].times};
  size_t airs = 0;
  size_t first = 0;
  size_t last = 0;
  for (size_t time = 0; time < played.times; ++time) {
    if (takes_air(&played, time)) {
      first = airs++ ? first : time;
      last = time;
    }
  }
  if (!airs || airs == played.times) {
    snprintf(words, SR_FOLDED_AIR_SIZE, "%s", airs ? "air" : "");
  } else if (airs == 1) {
    snprintf(words, SR_FOLDED_AIR_SIZE, "air %zu%s time", first + 1, ordinal(first + 1));
  } else if (last + 1 == played.times && last - first + 1 == airs) {
    snprintf(words, SR_FOLDED_AIR_SIZE, "air from %zu%s time", first + 1, ordinal(first + 1));
  } else {
    list_times(&played, words);
  }
  return words;
}
