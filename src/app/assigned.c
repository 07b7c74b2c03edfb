// SPDX-License-Identifier: GPL-3.0-or-later

#include "assigned.h"

#include "chosen_phrase.h"
#include "command.h"
#include "say.h"
#include "spare_inputs.h"

#include <steadyreed/output.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

SrAssignment
sr_assigned_read(const char* const path, const SrNamed* const named, SrPhraseChoice* const choice)
{
  SrAssignment assignment;
  (void)sr_assignment_read_file(path, choice, &assignment, NULL);
  if (named->place) {
    assignment.first_bar = 0;
    assignment.last_bar = 0;
    assignment.part = '\0';
  } else {
    choice->first_bar = assignment.first_bar;
    choice->last_bar = assignment.last_bar;
    choice->part = assignment.part;
  }
  if (named->click_on) {
    assignment.click = SR_ASSIGNED_CLICK_ANY;
  }
  if (named->silent_bars) {
    assignment.on_bars = 0;
    assignment.off_bars = 0;
  }
  if (named->ladder) {
    assignment.ladder = SR_ASSIGNED_LADDER_ANY;
  }
  return assignment;
}

/// Whether something was named that a session without sound cannot do.
static bool
needs_sound(const SrNamed* const named, const SrSessionSettings* const settings)
{
  return named->silent_bars || settings->stream.output || settings->tones ||
         settings->ready_midi >= 0 || settings->start_wait_s > 0.0 || settings->count_in_each;
}

void
sr_assigned_use(const SrAssignment* const assignment, const SrNamed* const named,
                SrSessionSettings* const settings)
{
  if (assignment->click == SR_ASSIGNED_CLICK_NONE && !needs_sound(named, settings)) {
    settings->silent = true;
  }
  if (settings->silent) {
    return;
  }
  if (assignment->click) {
    settings->click_bars = assignment->click == SR_ASSIGNED_CLICK_BARS;
  }
  if (assignment->on_bars) {
    settings->on_bars = assignment->on_bars;
    settings->off_bars = assignment->off_bars;
  }
}

void
sr_assigned_say(const SrAssignment* const assignment)
{
  char words[SR_ASSIGNMENT_WORDS_SIZE];
  if (*sr_assignment_words(assignment, words)) {
    sr_say_indented(stderr, 2, "Note: the file asks for %s.", words);
  }
}

/// What is chosen, as a file says it.
static SrAssignment
chosen(const SrPhraseChoice* const choice, const SrSessionSettings* const settings,
       const SrNamed* const named)
{
  SrAssignment assignment = {.first_bar = choice->first_bar,
                             .last_bar = choice->last_bar,
                             .part = choice->part,
                             .on_bars = settings->on_bars,
                             .off_bars = settings->off_bars,
                             .ladder = named->ladder};
  if (choice->part) {
    // Bars would be counted in the whole tune
    assignment.first_bar = 0;
    assignment.last_bar = 0;
  }
  if (settings->silent) {
    assignment.click = SR_ASSIGNED_CLICK_NONE;
  } else if (settings->click_bars) {
    assignment.click = SR_ASSIGNED_CLICK_BARS;
  } else if (named->click_on) {
    assignment.click = SR_ASSIGNED_CLICK_PULSES;
  }
  return assignment;
}

int
sr_assigned_write(const char* const path, const SrPhraseChoice* const choice,
                  const SrSessionSettings* const settings, const SrNamed* const named,
                  const char* const out, const bool force)
{
  const char* const read[] = {path};
  int refused = sr_spare_inputs_or_say(out, NULL, read, 1);
  if (!refused) {
    refused = sr_new_file_or_say(out, force);
  }
  // Nobody should get a file whose bars are not there
  SrPhrase* const phrase = refused ? NULL : sr_chosen_phrase_read(path, choice);
  if (!phrase) {
    return refused ? refused : SR_EXIT_NOT_JUDGED;
  }
  sr_phrase_del(phrase);
  const SrAssignment assignment = chosen(choice, settings, named);
  SrError error = {0};
  char* text = NULL;
  SrStatus status =
      sr_assignment_write(path, choice, &assignment, settings->judge.target_bpm, &text, &error);
  if (status == SR_OK) {
    status = sr_output_write(out, text, strlen(text), &error);
  }
  free(text);
  if (status != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  char words[SR_ASSIGNMENT_WORDS_SIZE];
  sr_assignment_words(&assignment, words);
  sr_say_indented(stdout, 2, "Wrote %s%s%s. Pupils practise it with: steadyreed practise %s", out,
                  *words ? ": " : "", words, out);
  return sr_say_flush(stdout, "standard output");
}
