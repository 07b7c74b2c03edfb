// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_sheet_texts.h"

#include "fault_list.h"
#include "tally.h"
#include "text.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Most characters of a file's name.
#define LONGEST_NAME 48

static const char*
keep(SrTakeTexts* const texts, const char* const words)
{
  return sr_page_words_keep(&texts->kept, words);
}

/// Add something to a line of facts.
static void add_fact(char* words, const char* format, ...) SR_PRINTF(2, 3);

static void
add_fact(char* const words, const char* const format, ...)
{
  char fact[SR_PAGE_LONGEST];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(fact, sizeof(fact), format, arguments);
  va_end(arguments);
  sr_words_add(words, "%s%s", words[0] ? " · " : "", fact);
}

static const char*
title_of(const SrTakePage* const page)
{
  const char* const title = page->take.assessment->title;
  return title && title[0] ? title : "Untitled phrase";
}

/// Whether a page is told apart by who played it.
static bool
is_of_player(const SrTakePage* const page)
{
  return page->player && *page->player;
}

/// Title unless the player's name stands large, bars, remark, date, tempo and the instrument's A.
static void
write_facts(const SrTakePage* const page, const SrRound* const round, char* const words)
{
  const SrAssessment* const assessment = page->take.assessment;
  const SrPulse* const pulse = &round->pulse;
  const double written = page->take.phrase ? sr_phrase_tempo(page->take.phrase) : 0.0;
  words[0] = '\0';
  if (is_of_player(page)) {
    add_fact(words, "%.200s", title_of(page));
  }
  if (assessment->first_bar == assessment->last_bar) {
    add_fact(words, "bar %d", assessment->first_bar);
  } else {
    add_fact(words, "bars %d to %d", assessment->first_bar, assessment->last_bar);
  }
  if (page->remark && *page->remark) {
    add_fact(words, "%.240s", page->remark);
  }
  if (page->date && *page->date) {
    add_fact(words, "%.60s", page->date);
  }
  if (isfinite(pulse->played_bpm) && isfinite(pulse->target_bpm)) {
    add_fact(words, "%.0f pulses a minute (asked: %.0f)", pulse->played_bpm, pulse->target_bpm);
  } else if (isfinite(pulse->played_bpm) && is_of_player(page) && written > 0.0) {
    // A pupil is judged by the own tempo, but should know what was asked for
    add_fact(words, "%.0f pulses a minute (the file asks for %.0f)", pulse->played_bpm, written);
  } else if (isfinite(pulse->played_bpm)) {
    add_fact(words, "%.0f pulses a minute", pulse->played_bpm);
  }
  if (isfinite(assessment->reference_hz) && assessment->reference_hz > 0.0) {
    add_fact(words, "the box's A is %.1f Hz", assessment->reference_hz);
  }
}

/// The advice as a sentence of its own.
static void
write_advice(const SrTakePage* const page, const bool faults, char* const words)
{
  size_t number = 0;
  const char* const advice = sr_worst_advice(page->take.assessment, &number);
  snprintf(words, SR_WORDS_SIZE, "%s", advice ? advice : faults ? "" : "Nothing went wrong");
  words[0] = (char)toupper((unsigned char)words[0]);
}

static void
write_foot(const SrTakePage* const page, char* const words)
{
  const SrAssessment* const assessment = page->take.assessment;
  const char* const path = page->take.path ? page->take.path : "";
  const char* const slash = strrchr(path, '/');
  const char* const name = slash ? slash + 1 : path;
  char clock[32];
  snprintf(words, SR_WORDS_SIZE,
           "Measured by Steadyreed from %.*s%s, %s long: the sound of each reed every 2 ms. Hardly "
           "noticeable: 6 ms, or 2.5 %% of a note over 240 ms. Scores are out of 100.",
           LONGEST_NAME, strcmp(name, "-") ? name : "a recording",
           strlen(name) > LONGEST_NAME ? "…" : "", sr_text_clock(assessment->take.seconds, clock));
}

/// Where the lines of the list go.
typedef struct {
  SrTakeTexts* texts;
  size_t room;
  bool failed;
} Faults;

static void
add_fault(void* const context, const SrFaultLine* const line)
{
  Faults* const faults = context;
  SrTakeTexts* const texts = faults->texts;
  if (texts->fault_count == faults->room) {
    const size_t room = faults->room ? 2 * faults->room : 32;
    SrPageFault* const larger = realloc(texts->faults, room * sizeof(SrPageFault));
    if (!larger) {
      faults->failed = true;
      return;
    }
    texts->faults = larger;
    faults->room = room;
  }
  char place[32] = "";
  if (line->name && line->bar > 0) {
    snprintf(place, sizeof(place), "bar %d", line->bar);
  } else if (line->name) {
    snprintf(place, sizeof(place), "pickup");
  }
  const SrPageFault fault = {keep(texts, place), keep(texts, line->name ? line->name : ""),
                             keep(texts, line->words)};
  faults->failed = faults->failed || !fault.place || !fault.name || !fault.words;
  texts->faults[texts->fault_count++] = fault;
}

static SrStatus
list_faults(const SrTakePage* const page, const SrRound* const round, SrTakeTexts* const texts)
{
  const SrNaming naming = sr_naming_of(page->take.phrase);
  Faults faults = {texts, 0, false};
  const SrFaultList list = {&naming, round, add_fault, &faults};
  (void)sr_faults(&list);
  return faults.failed ? SR_NO_MEMORY : SR_OK;
}

/// Keep a remark as "Note: ...".
static SrStatus
add_note(SrTakeTexts* const texts, const char* const remark)
{
  char words[SR_WORDS_SIZE];
  snprintf(words, sizeof(words), "Note: %s", remark);
  const char* const kept = keep(texts, words);
  if (!kept) {
    return SR_NO_MEMORY;
  }
  texts->notes[texts->note_count++] = kept;
  return SR_OK;
}

static SrStatus
list_notes(const SrTakePage* const page, SrTakeTexts* const texts)
{
  const SrAssessment* const assessment = page->take.assessment;
  SrStatus status = SR_OK;
  texts->notes = (const char**)calloc(page->take.remark_count + 3, sizeof(char*));
  if (!texts->notes) {
    return SR_NO_MEMORY;
  }
  if (assessment->doubled) {
    status = add_note(texts, "each note was heard together with the octave below it.");
  }
  if (status == SR_OK && assessment->accompanied) {
    status = add_note(texts, "other notes were heard below the melody, so nothing is said about "
                             "absent or joined cuts, joined notes or air.");
  }
  for (size_t i = 0; i < page->take.remark_count && status == SR_OK; ++i) {
    status = add_note(texts, page->take.remarks[i]);
  }
  return status;
}

SrStatus
sr_take_texts_make(const SrTakePage* const page, const size_t index, SrTakeTexts* const texts)
{
  const SrAssessment* const assessment = page->take.assessment;
  const SrRound* const round = &assessment->rounds[index];
  char words[SR_WORDS_SIZE];
  char head[SR_ROUND_HEAD_SIZE];
  memset(texts, 0, sizeof(*texts));
  SrStatus status = list_faults(page, round, texts);
  if (status == SR_OK) {
    status = list_notes(page, texts);
  }
  texts->title = keep(texts, is_of_player(page) ? page->player : title_of(page));
  write_facts(page, round, words);
  texts->facts = keep(texts, words);
  write_advice(page, texts->fault_count > 0, words);
  texts->advice = keep(texts, words);
  texts->heading =
      keep(texts, sr_words_round_head(round, index + 1, assessment->round_count, head));
  words[0] = '\0';
  sr_words_round(round, words);
  texts->summary = keep(texts, words);
  write_foot(page, words);
  texts->foot = keep(texts, words);
  const bool kept = texts->title && texts->facts && texts->advice && texts->heading &&
                    texts->summary && texts->foot;
  return kept ? status : SR_NO_MEMORY;
}

void
sr_take_texts_clear(SrTakeTexts* const texts)
{
  sr_page_words_clear(&texts->kept);
  free(texts->faults);
  free((void*)texts->notes);
  memset(texts, 0, sizeof(*texts));
}
