// SPDX-License-Identifier: GPL-3.0-or-later

#include "plan_missing.h"

#include "say.h"

#include <steadyreed/plan_wish.h>

#include <stdlib.h>

/// Most places that a sentence lists.
#define MOST_LISTED 6u

bool
sr_plan_is_missing(const SrPhrase* const phrase, const SrPlan* const plan, const size_t note)
{
  return sr_phrase_note(phrase, note)->cut_midi >= 0 && plan->notes[note].cut_button < 0;
}

/// Whether an earlier playing of the same written note lacks its cut as well.
static bool
is_listed(const SrPhrase* const phrase, const SrPlan* const plan, const size_t note)
{
  const SrPhraseNote* const written = sr_phrase_note(phrase, note);
  for (size_t i = 0; i < note; ++i) {
    const SrPhraseNote* const other = sr_phrase_note(phrase, i);
    if (other->line == written->line && other->column == written->column &&
        sr_plan_is_missing(phrase, plan, i)) {
      return true;
    }
  }
  return false;
}

static size_t
count_missing(const SrPhrase* const phrase, const SrPlan* const plan)
{
  size_t count = 0;
  for (size_t i = 0; i < plan->note_count; ++i) {
    count += sr_plan_is_missing(phrase, plan, i) && !is_listed(phrase, plan, i) ? 1 : 0;
  }
  return count;
}

/// A sentence about what cannot be played, which begins with `lead`; free it. NULL if nothing, or
/// without memory.
static char*
sentence(const SrPhrase* const phrase, const SrPlan* const plan, const char* const lead)
{
  const size_t count = count_missing(phrase, plan);
  char* text = NULL;
  size_t size = 0;
  FILE* const memory = count ? open_memstream(&text, &size) : NULL;
  if (!memory) {
    return NULL;
  }
  fprintf(
      memory,
      "%s button can play the grace while the bellows go that way, so leave it out or turn them: ",
      lead);
  size_t listed = 0;
  for (size_t i = 0; i < plan->note_count && listed < MOST_LISTED; ++i) {
    if (sr_plan_is_missing(phrase, plan, i) && !is_listed(phrase, plan, i)) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, i);
      fprintf(memory, "%sbar %d, note %d (%s)", listed++ ? "; " : "", note->bar,
              sr_plan_wish_note_number(phrase, i),
              plan->notes[i].direction == SR_DIRECTION_PRESS ? "press" : "draw");
    }
  }
  if (count > listed) {
    fprintf(memory, "; and %zu more", count - listed);
  }
  fputc('.', memory);
  if (fclose(memory)) {
    free(text);
    return NULL;
  }
  return text;
}

void
sr_plan_write_missing(FILE* const stream, const SrPhrase* const phrase, const SrPlan* const plan,
                      const SrShowStyle* const style)
{
  char* const text = sentence(phrase, plan, "In plan 1 no");
  if (text) {
    fputc('\n', stream);
    sr_show_words(stream, text, &(SrShowLine){0, 2, style->columns, NULL});
    fputc('\n', stream);
  }
  free(text);
}

void
sr_plan_say_missing(const SrPhrase* const phrase, const SrPlan* const plan)
{
  char* const text = sentence(phrase, plan, "No");
  if (text) {
    fflush(stdout);
    sr_say_indented(stderr, 2, "Note: %s", text);
  }
  free(text);
}
