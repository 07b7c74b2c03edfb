// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_joins.h"

#include "past_faults.h"

#include <steadyreed/excerpt.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Repetitions of the notes in a drill.
#define TIMES 4

/// Pulses from the start of the phrase to a note.
static double
pulse_at(const SrPhrase* const phrase, const size_t note)
{
  return sr_fraction_value(sr_phrase_note(phrase, note)->start) /
         sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
}

/**
   The stretch from the pulse of the note before a join to the end of the pulse of the note after
   it.
*/
static void
stretch_of(const SrPhrase* const phrase, const size_t join, size_t* const first, size_t* const last)
{
  const double from = floor(pulse_at(phrase, join - 1) + 1e-6);
  const double to = floor(pulse_at(phrase, join) + 1e-6) + 1.0;
  *first = join - 1;
  *last = join;
  while (*first > 0 && pulse_at(phrase, *first - 1) > from - 1e-6) {
    --*first;
  }
  while (*last + 1 < sr_phrase_note_count(phrase) && pulse_at(phrase, *last + 1) < to - 1e-6) {
    ++*last;
  }
}

/// The buttons and turns of some notes as annotations; free() each and the array. NULL without
/// memory.
static char**
annotate(const SrInstrument* const instrument, const SrPlan* const plan, const size_t first,
         const size_t last)
{
  char** const words = (char**)calloc(last - first + 1, sizeof(char*));
  for (size_t i = first; words && i <= last; ++i) {
    const SrPlannedNote* const note = &plan->notes[i];
    const bool reported = i == first || note->direction != plan->notes[i - 1].direction;
    const char* const way = note->direction == SR_DIRECTION_PRESS ? "\"_press\"" : "\"_draw\"";
    if (asprintf(&words[i - first], "\"^%s\"%s",
                 sr_instrument_button(instrument, note->button)->name, reported ? way : "") < 0) {
      words[i - first] = NULL;
    }
  }
  return words;
}

static SrStatus
write_drill(FILE* const stream, const SrPhrase* const phrase, const SrInstrument* const instrument,
            const SrPlanSettings* const settings, const SrPlan* const plan, const size_t join,
            const int number, const char* const which, SrError* const error)
{
  size_t first;
  size_t last;
  stretch_of(phrase, join, &first, &last);
  char title[96];
  char purpose[160];
  const SrPhraseNote* const to = sr_phrase_note(phrase, join);
  snprintf(title, sizeof(title), "Join in bar %d, %s", to->bar, which);
  snprintf(purpose, sizeof(purpose),
           "For one join: from the %s to the %s in bar %d, until the hand goes there by itself.",
           sr_phrase_note(phrase, join - 1)->name, to->name, to->bar);
  char** const words = annotate(instrument, plan, first, last);
  if (!words) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write the drill.");
  }
  const SrExcerpt excerpt = {.first = first,
                             .last = last,
                             .times = TIMES,
                             .number = number,
                             .title = title,
                             .purpose = purpose,
                             .bpm = settings->bpm,
                             .annotations = (const char* const*)words};
  fputs(number > 1 ? "\n" : "%abc-2.1\n", stream);
  const SrStatus status = sr_excerpt_write(stream, phrase, &excerpt, error);
  for (size_t i = first; i <= last; ++i) {
    free(words[i - first]);
  }
  free(words);
  return status;
}

/// Whether two plans use different buttons in a stretch.
static bool
differs(const SrPhrase* const phrase, const SrPlan* const a, const SrPlan* const b,
        const size_t join)
{
  size_t first;
  size_t last;
  stretch_of(phrase, join, &first, &last);
  for (size_t i = first; i <= last; ++i) {
    if (a->notes[i].button != b->notes[i].button) {
      return true;
    }
  }
  return false;
}

/// Whether two joins are the same two notes played the same way, so that one drill covers both.
static bool
is_same_join(const SrPhrase* const phrase, const SrPlan* const plan, const size_t a, const size_t b)
{
  bool same = true;
  for (size_t back = 0; back < 2; ++back) {
    const SrPlannedNote* const one = &plan->notes[a - back];
    const SrPlannedNote* const two = &plan->notes[b - back];
    same = same && one->button == two->button && one->direction == two->direction &&
           sr_phrase_note(phrase, a - back)->midi == sr_phrase_note(phrase, b - back)->midi;
  }
  return same &&
         (sr_phrase_note(phrase, a)->cut_midi < 0) == (sr_phrase_note(phrase, b)->cut_midi < 0);
}

/// The hardest join outside all stretches chosen so far and not equal to any of their joins; 0 if
/// there is none.
static size_t
hardest(const SrPhrase* const phrase, const SrPlan* const plan, const double* const hard,
        const size_t* const chosen, const size_t count)
{
  size_t best = 0;
  for (size_t i = 1; i < sr_phrase_note_count(phrase); ++i) {
    bool taken = false;
    for (size_t c = 0; c < count; ++c) {
      size_t first;
      size_t last;
      stretch_of(phrase, chosen[c], &first, &last);
      taken = taken || (i >= first && i <= last) || is_same_join(phrase, plan, i, chosen[c]);
    }
    best = !taken && (best == 0 || hard[i] > hard[best]) ? i : best;
  }
  return best;
}

SrStatus
sr_plan_write_joins(FILE* const stream, const SrPhrase* const phrase,
                    const SrInstrument* const instrument, const SrPlanSettings* const settings,
                    const SrPlans* const plans, const char* const take, SrError* const error)
{
  const SrPlan* const plan = sr_plans_get(plans, 0);
  const size_t count = plan->note_count;
  double* const hard = (double*)calloc(count + 1, sizeof(double));
  if (!hard) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write drills.");
  }
  for (size_t i = 0; i < count; ++i) {
    hard[i] = (double)plan->notes[i].hand_cost;
  }
  SrStatus status = take ? sr_past_faults_add(take, count, hard, error) : SR_OK;
  size_t chosen[SR_JOINS];
  int number = 0;
  for (size_t j = 0; status == SR_OK && j < SR_JOINS; ++j) {
    chosen[j] = hardest(phrase, plan, hard, chosen, j);
    if (chosen[j] == 0) {
      break;
    }
    status = write_drill(stream, phrase, instrument, settings, plan, chosen[j], ++number,
                         "as planned", error);
    for (size_t p = 1; status == SR_OK && p < sr_plans_count(plans); ++p) {
      if (differs(phrase, plan, sr_plans_get(plans, p), chosen[j])) {
        status = write_drill(stream, phrase, instrument, settings, sr_plans_get(plans, p),
                             chosen[j], ++number, "another way", error);
        break;
      }
    }
  }
  free(hard);
  return status;
}
