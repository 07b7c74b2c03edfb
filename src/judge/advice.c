// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file advice.c
   The remarks on a round, their common words, and the choice among them.
*/

#include "advice.h"

#include "adviser.h"
#include "tuning.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void
sr_adviser_say(SrAdviser* const a, const double weight, const char* const format, ...)
{
  const size_t note = a->note;
  a->note = a->round->note_count;
  if (a->count == MOST_CANDIDATES || !(weight > 0.0)) {
    return;
  }
  SrAdviceCandidate* const candidate = &a->candidates[a->count++];
  candidate->weight = weight;
  candidate->note = note;
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(candidate->text, sizeof(candidate->text), format, arguments);
  va_end(arguments);
}

const char*
sr_adviser_place_to(SrAdviser* const a, const size_t note, const int last)
{
  const int bar = a->round->notes[note].bar;
  const char* const time = sr_round_time_of(a->take->phrase, a->round, note);
  char until[16] = "";
  a->note = note;
  if (last > bar) {
    snprintf(until, sizeof(until), " to %d", last);
  }
  if (bar > 0) {
    snprintf(a->place, sizeof(a->place), "bar %d%s%s%s", bar, until, *time ? ", " : "", time);
  } else {
    snprintf(a->place, sizeof(a->place), "pickup%s", until);
  }
  return a->place;
}

const char*
sr_adviser_place(SrAdviser* const a, const size_t note)
{
  return sr_adviser_place_to(a, note, 0);
}

static const char*
ordinal(const size_t number)
{
  static const char* const words[] = {"first", "second", "third",   "fourth",
                                      "fifth", "sixth",  "seventh", "eighth"};
  return number >= 1 && number <= 8 ? words[number - 1] : "last";
}

/// Name a note, with where it is played, in parentheses, unless that is "".
static void
name_note(const SrAdviser* const a, const size_t index, const char* const where, char* const text,
          const size_t size)
{
  const SrPhrase* const phrase = a->take->phrase;
  const SrPhraseNote* const note = sr_phrase_note(phrase, index);
  size_t number = 1;
  size_t of_name = 1;
  for (size_t i = index; i-- > 0 && sr_phrase_note(phrase, i)->bar == note->bar;) {
    const bool same = !strcmp(sr_phrase_note(phrase, i)->name, note->name);
    number += same;
    of_name += same;
  }
  for (size_t i = index + 1;
       i < sr_phrase_note_count(phrase) && sr_phrase_note(phrase, i)->bar == note->bar; ++i) {
    of_name += !strcmp(sr_phrase_note(phrase, i)->name, note->name);
  }
  snprintf(text, size, "the %s%s%s%s%s%s", of_name > 1 ? ordinal(number) : "",
           of_name > 1 ? " " : "", note->name, *where ? " (" : "", where, *where ? ")" : "");
}

void
sr_adviser_name_note(const SrAdviser* const a, const size_t index, char* const text,
                     const size_t size)
{
  const char* const* const places = a->take->settings->places;
  name_note(a, index, places && places[index] ? places[index] : "", text, size);
}

void
sr_adviser_name_plainly(const SrAdviser* const a, const size_t index, char* const text,
                        const size_t size)
{
  name_note(a, index, "", text, size);
}

const char*
sr_adviser_again(SrAdviser* const a, const size_t count)
{
  a->again[0] = '\0';
  if (count > 1) {
    snprintf(a->again, sizeof(a->again), " (one of %zu)", count);
  }
  return a->again;
}

static int
by_weight(const void* const a, const void* const b)
{
  const double x = ((const SrAdviceCandidate*)a)->weight;
  const double y = ((const SrAdviceCandidate*)b)->weight;
  return (x < y) - (x > y);
}

static char*
copy_of(const char* const text)
{
  char* const copy = (char*)malloc(strlen(text) + 1);
  if (copy) {
    memcpy(copy, text, strlen(text) + 1);
  }
  return copy;
}

SrStatus
sr_advise(const SrTake* const take, SrRound* const round)
{
  SrAdviser* const a = (SrAdviser*)calloc(1, sizeof(SrAdviser));
  round->advice = (char**)calloc(MOST_LINES, sizeof(char*));
  round->advice_notes = (size_t*)calloc(MOST_LINES, sizeof(size_t));
  bool enough = a && round->advice && round->advice_notes;
  if (enough) {
    a->take = take;
    a->round = round;
    a->note = round->note_count;
    sr_advise_on_click(a);
    sr_advise_on_cuts(a);
    sr_advise_on_notes(a);
    sr_advise_on_more(a);
    sr_advise_on_flow(a);
    sr_advise_on_rhythm(a);
    sr_advise_on_tempo(a);
    sr_advise_on_alone(a);
    sr_advise_on_air(a);
    round->clean = a->count == 0;
    if (round->clean) {
      const double bpm = round->pulse.played_bpm;
      if (isfinite(bpm)) {
        sr_adviser_say(a, 1.0, "no faults heard; play it again, then a little faster (%.0f)",
                       ceil(bpm * 1.03));
      } else {
        sr_adviser_say(a, 1.0, "no faults heard; play a longer stretch of it next");
      }
    }
    qsort(a->candidates, a->count, sizeof(SrAdviceCandidate), by_weight);
  }
  for (size_t i = 0; enough && i < a->count && i < MOST_LINES; ++i) {
    round->advice[i] = copy_of(a->candidates[i].text);
    round->advice_notes[i] = a->candidates[i].note;
    enough = round->advice[i] != NULL;
    round->advice_count += enough;
  }
  free(a);
  return enough ? SR_OK : SR_NO_MEMORY;
}
