// SPDX-License-Identifier: GPL-3.0-or-later

#include "round_content.h"

#include "tally.h"
#include "verdict_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Most that a sound is drawn before its note, share of the note's length.
#define MOST_EARLY 0.45
/// Least of a note that is filled if it was heard at all.
#define LEAST_HEARD 0.12
/// Least range of pitches that the line shows, semitones.
#define LEAST_RANGE 7.0

/// What the values are made from.
typedef struct {
  const SrPicturedRound* pictured;
  SrRoundContent* content;
  int lowest; ///< MIDI
  int highest;
} Source;

static double
start_of(const SrPhrase* const phrase, const size_t note)
{
  return sr_fraction_value(sr_phrase_note(phrase, note)->start);
}

/// Whole notes a second at a note; 0 if unknown.
static double
pace_at(const SrPicturedRound* const pictured, const size_t note)
{
  const SrRound* const round = pictured->round;
  const size_t end = pictured->reached < round->note_count ? pictured->reached : round->note_count;
  const size_t from = note + 1 < end ? note : note - (note > 0);
  if (from + 1 < end) {
    const double seconds = round->notes[from + 1].due_s - round->notes[from].due_s;
    const double length = start_of(pictured->phrase, from + 1) - start_of(pictured->phrase, from);
    if (isfinite(seconds) && seconds > 0.0 && length > 0.0) {
      return length / seconds;
    }
  }
  const double bpm = round->pulse.played_bpm;
  return isfinite(bpm) ? bpm / 60.0 * sr_fraction_value(round->pulse.unit) : 0.0;
}

static SrSeen
seen_of(const SrPicturedRound* const pictured, const size_t index)
{
  const SrNoteVerdict* const note = &pictured->round->notes[index];
  if (index >= pictured->reached) {
    return SR_SEEN_TODO;
  }
  switch (note->status) {
  case SR_NOTE_PLAYED:
    return SR_SEEN_HEARD;
  case SR_NOTE_WRONG:
    return SR_SEEN_WRONG;
  case SR_NOTE_UNHEARD:
    return SR_SEEN_UNHEARD;
  case SR_NOTE_MISSED:
    break;
  }
  return sr_round_is_behind_stop(pictured->round, index) ? SR_SEEN_TODO : SR_SEEN_MISSED;
}

static SrSeenCut
cut_of(const SrNoteVerdict* const note, const SrPhraseNote* const written, const SrSeen seen)
{
  const bool heard = seen == SR_SEEN_HEARD || seen == SR_SEEN_WRONG;
  if (!heard || !note->has_cut) {
    return written->cut_midi >= 0 ? SR_SEEN_CUT_TODO : SR_SEEN_NO_CUT;
  }
  switch (note->cut.verdict) {
  case SR_CUT_CLEAN:
    return SR_SEEN_CUT_CLEAN;
  case SR_CUT_LONG:
    return SR_SEEN_CUT_LONG;
  case SR_CUT_STRAY:
    return SR_SEEN_CUT_STRAY;
  case SR_CUT_ABSENT:
    return SR_SEEN_CUT_ABSENT;
  case SR_CUT_JOINED: // drawn as joined
    break;
  }
  return SR_SEEN_NO_CUT;
}

static bool
is_joined(const SrNoteVerdict* const note)
{
  return note->status == SR_NOTE_PLAYED &&
         (note->joined == SR_YES || (note->has_cut && note->cut.verdict == SR_CUT_JOINED));
}

bool
sr_round_is_fault(const SrRound* const round, const size_t index)
{
  const SrNoteVerdict* const note = &round->notes[index];
  const bool cut = note->has_cut && note->cut.verdict != SR_CUT_CLEAN;
  return note->status == SR_NOTE_MISSED || note->status == SR_NOTE_WRONG ||
         (note->status == SR_NOTE_PLAYED &&
          (cut || note->joined == SR_YES || sr_words_is_off_pulse(round, index) ||
           sr_is_air_heard(round, index)));
}

/// What is just noticeable at a note, ms, as if no break came before it; NAN if unknown.
static double
band_of(const SrPicturedRound* const pictured, const size_t index)
{
  const double with_break = sr_words_noticeable_ms(pictured->round, index);
  const double bpm = pictured->round->pulse.played_bpm;
  const double pace =
      isfinite(bpm) ? bpm / 60.0 * sr_fraction_value(pictured->round->pulse.unit) : 0.0;
  const size_t from = index > 0 ? index - 1 : index;
  if (!(pace > 0.0) || from + 1 >= pictured->round->note_count) {
    return with_break;
  }
  const double length = start_of(pictured->phrase, from + 1) - start_of(pictured->phrase, from);
  return fmin(with_break, sr_judge_just_noticeable_ms(1000.0 * length / pace));
}

/// Where the sound of a note lies, by the beat.
static void
place_sound(const SrPicturedRound* const pictured, const size_t index, SrSeenNote* const seen)
{
  const SrNoteVerdict* const note = &pictured->round->notes[index];
  const double start = start_of(pictured->phrase, index);
  const double length = sr_fraction_value(sr_phrase_note(pictured->phrase, index)->length);
  const double pace = pace_at(pictured, index);
  double from = start;
  double to = start + length;
  if (pace > 0.0 && isfinite(note->offset_ms)) {
    from = start + fmax(-MOST_EARLY * length, note->offset_ms / 1000.0 * pace);
  }
  if (pace > 0.0 && isfinite(note->due_s) && isfinite(note->end_s)) {
    to = fmin(to, start + (note->end_s - note->due_s) * pace);
  }
  seen->from = fmin(from, start + (1.0 - LEAST_HEARD) * length);
  seen->to = fmax(to, seen->from + LEAST_HEARD * length);
  seen->cut_length = pace > 0.0 && isfinite(note->cut.length_ms)
                         ? fmin(length, note->cut.length_ms / 1000.0 * pace)
                         : 0.0;
}

static void
add_note(const Source* const source, const size_t index)
{
  const SrPicturedRound* const pictured = source->pictured;
  const SrRound* const round = pictured->round;
  const SrNoteVerdict* const note = &round->notes[index];
  SrSeenNote* const seen = &source->content->notes[index];
  seen->seen = seen_of(pictured, index);
  seen->cut = cut_of(note, sr_phrase_note(pictured->phrase, index), seen->seen);
  seen->offset_ms = (double)NAN;
  seen->band_ms = (double)NAN;
  place_sound(pictured, index, seen);
  if (index >= pictured->reached) {
    return;
  }
  const bool played = seen->seen == SR_SEEN_HEARD || seen->seen == SR_SEEN_WRONG;
  if (seen->seen != SR_SEEN_TODO) {
    seen->band_ms = band_of(pictured, index);
  }
  if (played) {
    seen->joined = is_joined(note) && index > 0;
    seen->offset_ms = seen->joined ? (double)NAN : note->offset_ms;
    seen->off_pulse = isfinite(seen->offset_ms) && sr_words_is_off_pulse(round, index);
  }
  seen->air_heard = sr_is_air_heard(round, index);
  seen->fault = seen->seen != SR_SEEN_TODO && sr_round_is_fault(round, index);
}

/// Height of the line at a pitch, 0 to 1.
static double
height_of(const Source* const source, const int midi)
{
  const double range = fmax(LEAST_RANGE, (double)(source->highest - source->lowest));
  const double middle = (source->highest + source->lowest) / 2.0;
  return 0.5 + ((double)midi - middle) / range;
}

static SrStatus
add_stroke(const Source* const source, const size_t index)
{
  const SrPicturedRound* const pictured = source->pictured;
  SrRoundContent* const content = source->content;
  const SrPhraseNote* const written = sr_phrase_note(pictured->phrase, index);
  const SrPlannedNote* const planned = pictured->plan ? &pictured->plan->notes[index] : NULL;
  SrDrawnStroke* const stroke = &content->strokes[index];
  stroke->start = sr_fraction_value(written->start);
  stroke->length = sr_fraction_value(written->length);
  stroke->name = sr_page_words_keep(&content->words, written->name);
  stroke->button = sr_page_words_keep(
      &content->words, planned && pictured->instrument
                           ? sr_instrument_button(pictured->instrument, planned->button)->name
                           : "");
  if (planned) {
    stroke->before = (double)planned->before / SR_BELLOWS_UNITS;
    stroke->after = (double)planned->after / SR_BELLOWS_UNITS;
    stroke->draw = planned->direction == SR_DIRECTION_DRAW;
  } else {
    stroke->before = stroke->after = height_of(source, written->midi);
    stroke->draw = true;
  }
  stroke->air = written->air || (planned && planned->air > 0) ||
                (index < pictured->reached && pictured->round->notes[index].air_asked);
  return stroke->name && stroke->button ? SR_OK : SR_NO_MEMORY;
}

static void
add_bars(const SrPicturedRound* const pictured, SrRoundContent* const content)
{
  const SrPhrase* const phrase = pictured->phrase;
  const size_t count = sr_phrase_bar_count(phrase);
  for (size_t i = 0; i < count; ++i) {
    const SrPhraseBar* const bar = sr_phrase_bar(phrase, i);
    const SrDrawnBar drawn = {.start = sr_fraction_value(bar->start),
                              .length = sr_fraction_value(bar->length),
                              .pulse = sr_fraction_value(bar->pulse),
                              .number = bar->number,
                              .like = SR_DRAWN_LIKE_NONE};
    content->bars[i] = drawn;
  }
  content->part = pictured->bar_count ? (SrDrawnPart){"", pictured->first_bar, pictured->bar_count}
                                      : (SrDrawnPart){"", 0, count};
  content->phrase = (SrDrawnPhrase){.strokes = content->strokes,
                                    .stroke_count = sr_phrase_note_count(phrase),
                                    .bars = content->bars,
                                    .bar_count = count,
                                    .parts = &content->part,
                                    .part_count = 1};
}

/// The few words over a sign.
static const char*
slip_words(const SrSlip* const slip, char words[64])
{
  switch (slip->kind) {
  case SR_SLIP_FALSE_START:
    return "false start";
  case SR_SLIP_RESTART:
    return "back to here";
  case SR_SLIP_STOPPED:
    return "stopped";
  case SR_SLIP_LEFT_OUT:
    snprintf(words, 64, "%zu left out", slip->left_out);
    return words;
  case SR_SLIP_HURRIED:
  case SR_SLIP_HESITATION:
    if (isfinite(slip->wait_s)) {
      snprintf(words, 64, "%.1f s %s", fabs(slip->wait_s),
               slip->kind == SR_SLIP_HURRIED ? "too soon" : "wait");
      return words;
    }
    return slip->kind == SR_SLIP_HURRIED ? "too soon" : "wait";
  case SR_SLIP_OTHER_TEMPO:
    snprintf(words, 64, "%.0f %% %s", fabs(slip->longer_percent),
             slip->longer_percent > 0.0 ? "longer" : "less time");
    return words;
  }
  return "";
}

static int
by_time(const void* const left, const void* const right)
{
  const double a = ((const SrSeenSlip*)left)->at;
  const double b = ((const SrSeenSlip*)right)->at;
  return (a > b) - (a < b);
}

static SrStatus
add_slips(const Source* const source)
{
  const SrPicturedRound* const pictured = source->pictured;
  const SrRound* const round = pictured->round;
  SrRoundContent* const content = source->content;
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    if (slip->note_index >= round->note_count || slip->note_index >= pictured->reached) {
      continue;
    }
    const SrDrawnStroke* const stroke = &content->strokes[slip->note_index];
    const bool after = slip->kind == SR_SLIP_STOPPED || slip->kind == SR_SLIP_FALSE_START;
    char words[64];
    SrSeenSlip* const seen = &content->slips[content->slip_count];
    seen->kind = slip->kind;
    seen->at = stroke->start + (after ? stroke->length : 0.0);
    seen->until = seen->at;
    if (slip->kind == SR_SLIP_OTHER_TEMPO) {
      const size_t last = (slip->until < round->note_count ? slip->until : round->note_count) - 1;
      seen->until = content->strokes[last].start + content->strokes[last].length;
    }
    seen->words = sr_page_words_keep(&content->words, slip_words(slip, words));
    if (!seen->words) {
      return SR_NO_MEMORY;
    }
    ++content->slip_count;
  }
  if (content->slip_count > 1) {
    qsort(content->slips, content->slip_count, sizeof(SrSeenSlip), by_time);
  }
  return SR_OK;
}

static void
add_extras(const Source* const source)
{
  const SrPicturedRound* const pictured = source->pictured;
  const SrRound* const round = pictured->round;
  SrRoundContent* const content = source->content;
  for (size_t i = 0; i < round->insertion_count; ++i) {
    size_t note = 0;
    (void)sr_round_insertion_kind(round, i, &note);
    if (note >= round->note_count || note >= pictured->reached) {
      continue;
    }
    const SrDrawnStroke* const stroke = &content->strokes[note];
    const bool after = round->notes[note].onset_s <= round->insertions[i].onset_s;
    content->extras[content->extra_count++] = stroke->start + (after ? stroke->length : 0.0);
  }
}

static bool
fits(const SrPicturedRound* const pictured)
{
  const size_t count = sr_phrase_note_count(pictured->phrase);
  const SrPlan* const plan = pictured->plan;
  const size_t bars = sr_phrase_bar_count(pictured->phrase);
  if (pictured->round->note_count != count || (plan && plan->note_count != count) ||
      pictured->first_bar > bars || pictured->bar_count > bars - pictured->first_bar) {
    return false;
  }
  const size_t buttons =
      pictured->instrument ? sr_instrument_button_count(pictured->instrument) : SIZE_MAX;
  for (size_t i = 0; plan && i < count; ++i) {
    if (plan->notes[i].button >= buttons) {
      return false;
    }
  }
  return true;
}

SrStatus
sr_round_content_make(const SrPicturedRound* const pictured, SrRoundContent* const content)
{
  memset(content, 0, sizeof(*content));
  if (!fits(pictured)) {
    return SR_BAD_ARGUMENT;
  }
  const SrRound* const round = pictured->round;
  const size_t count = round->note_count;
  content->planned = pictured->plan != NULL;
  content->notes = calloc(count + 1, sizeof(SrSeenNote));
  content->strokes = calloc(count + 1, sizeof(SrDrawnStroke));
  content->bars = calloc(sr_phrase_bar_count(pictured->phrase) + 1, sizeof(SrDrawnBar));
  content->slips = calloc(round->slip_count + 1, sizeof(SrSeenSlip));
  content->extras = calloc(round->insertion_count + 1, sizeof(double));
  if (!content->notes || !content->strokes || !content->bars || !content->slips ||
      !content->extras) {
    return SR_NO_MEMORY;
  }
  Source source = {pictured, content, 127, 0};
  for (size_t i = 0; i < count; ++i) {
    const int midi = sr_phrase_note(pictured->phrase, i)->midi;
    source.lowest = midi < source.lowest ? midi : source.lowest;
    source.highest = midi > source.highest ? midi : source.highest;
  }
  for (size_t i = 0; i < count; ++i) {
    if (add_stroke(&source, i) != SR_OK) {
      return SR_NO_MEMORY;
    }
    add_note(&source, i);
  }
  add_bars(pictured, content);
  add_extras(&source);
  return add_slips(&source);
}

void
sr_round_content_clear(SrRoundContent* const content)
{
  sr_page_words_clear(&content->words);
  free(content->notes);
  free(content->strokes);
  free(content->bars);
  free(content->slips);
  free(content->extras);
  memset(content, 0, sizeof(*content));
}
