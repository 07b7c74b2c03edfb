// SPDX-License-Identifier: GPL-3.0-or-later

// Advice is written as "bar 2, cut joined (one of 3): you held on to the A; lift the A ...": a
// place, a fault and a remedy. In large letters the remedy comes first.

#include <steadyreed/large_words.h>

#include "tally.h"
#include "text.h"
#include "verdict_words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Scores from which a beat is called even, and fairly even (common practice, no source).
#define EVEN 90.0
#define FAIRLY_EVEN 70.0

/// A part of a line as a sentence without a full stop, without what is in parentheses.
static void
write_sentence(const char* text, const char* const end, char* const sentence)
{
  size_t size = strlen(sentence);
  const size_t first = size;
  bool aside = false;
  while (text < end && isspace((unsigned char)*text)) {
    ++text;
  }
  for (; text < end && size + 1 < SR_LARGE_SIZE; ++text) {
    if (*text == '(' && size > first && sentence[size - 1] == ' ') {
      --size;
      aside = true;
    }
    if (!aside) {
      sentence[size++] = *text;
    }
    aside = aside && *text != ')';
  }
  sentence[size] = '\0';
}

static void
capitalise(char* const sentence)
{
  sentence[0] = (char)toupper((unsigned char)sentence[0]);
}

/// Where the place of a line ends: at a comma or colon after "bar 2", "bar 2 to 4", "bar 2, second
/// time" or "pickup"; its beginning if it names none.
static const char*
end_of_place(const char* const advice)
{
  if (strncmp(advice, "bar ", 4) != 0 && strncmp(advice, "pickup", 6) != 0) {
    return advice;
  }
  const char* const end = advice + strcspn(advice, ",:");
  const char* const word = *end == ',' ? end + 2 : end;
  const char* const after = word + strcspn(word, " ,:");
  return *end == ',' && !strncmp(after, " time", 5) && strchr(",:", after[5]) ? after + 5 : end;
}

void
sr_large_verdict(const SrRound* const round, const size_t advice, SrLargeVerdict* const verdict)
{
  *verdict = (SrLargeVerdict){.note = round->note_count};
  if (advice >= round->advice_count) {
    return;
  }
  const char* const text = round->advice[advice];
  const char* const end = text + strlen(text);
  const char* const semicolon = strchr(text, ';');
  const char* const remedy = semicolon ? semicolon + 1 : end;
  if (round->clean) {
    snprintf(verdict->head, SR_LARGE_SIZE, "%s",
             sr_is_incomplete(round) ? "No faults heard" : "Clean");
    write_sentence(remedy, end, verdict->body);
    capitalise(verdict->body);
    return;
  }
  verdict->note = round->advice_notes ? round->advice_notes[advice] : round->note_count;
  const char* const place_end = end_of_place(text);
  const char* const colon = place_end > text ? strchr(place_end, ':') : NULL;
  const char* const what = colon ? colon + 1 : text;
  const char* const what_end = semicolon ? semicolon : end;
  write_sentence(semicolon ? remedy : what, end, verdict->head);
  capitalise(verdict->head);
  if (place_end > text) {
    // "bar 2, the B: air heard": the note belongs to the place
    write_sentence(text, colon && !strncmp(place_end, ", the ", 6) ? colon : place_end,
                   verdict->body);
    snprintf(verdict->body + strlen(verdict->body), SR_LARGE_SIZE - strlen(verdict->body), ": ");
  }
  if (semicolon) {
    write_sentence(what, what_end, verdict->body);
  } else {
    verdict->body[strcspn(verdict->body, ":")] = '\0';
  }
  capitalise(verdict->body);
}

static SrLargeFigure*
add_figure(SrLargeFigure* const figures, size_t* const count, const char* const name)
{
  figures[*count] = (SrLargeFigure){.name = name};
  return &figures[(*count)++];
}

static void
say_notes(const SrTally* const tally, SrLargeFigure* const figure)
{
  snprintf(figure->words, SR_LARGE_SIZE, "%zu of %zu right", tally->played, tally->notes);
  figure->good = tally->played == tally->notes;
}

static void
say_cuts(const SrTally* const tally, SrLargeFigure* const figure)
{
  const size_t clean = tally->cuts[SR_CUT_CLEAN];
  snprintf(figure->words, SR_LARGE_SIZE, "%zu of %zu clean", clean, tally->cuts_asked);
  figure->good = clean == tally->cuts_asked;
}

static void
say_beat(const SrRound* const round, SrLargeFigure* const figure)
{
  const double score = round->scores.evenness;
  const char* const even = score >= EVEN ? "even" : score >= FAIRLY_EVEN ? "fairly even" : "uneven";
  snprintf(figure->words, SR_LARGE_SIZE, "%s, %.0f ms", even, round->pulse.spread_ms);
  figure->good = score >= EVEN;
}

static void
say_air(const SrRound* const round, SrLargeFigure* const figure)
{
  size_t heard = 0;
  for (size_t i = 0; i < round->air_count; ++i) {
    heard += round->air[i].audible ? 1 : 0;
  }
  if (heard) {
    snprintf(figure->words, SR_LARGE_SIZE, heard == 1 ? "heard once" : "heard %zu times", heard);
  } else {
    snprintf(figure->words, SR_LARGE_SIZE, round->air_count ? "hidden" : "not heard");
  }
  figure->good = heard == 0;
}

size_t
sr_large_figures(const SrRound* const round, const SrAirCarriage carries,
                 SrLargeFigure* const figures)
{
  size_t count = 0;
  SrTally tally = {0};
  sr_tally_add(&tally, round);
  say_notes(&tally, add_figure(figures, &count, "Notes"));
  if (round->asked.cuts) {
    say_cuts(&tally, add_figure(figures, &count, "Cuts"));
  }
  if (isfinite(round->scores.evenness) && isfinite(round->pulse.spread_ms)) {
    say_beat(round, add_figure(figures, &count, "Beat"));
  }
  if (carries == SR_AIR_CARRIED && (round->air_count || round->asked.air)) {
    say_air(round, add_figure(figures, &count, "Air"));
  }
  return count;
}

/// The name of the note before; repeated notes ran into one another only if it is known.
static const char*
name_before(const SrPhrase* const phrase, const size_t index)
{
  return index > 0 ? sr_phrase_note(phrase, index - 1)->name : "The note before";
}

static void
say_wrong(const SrPhrase* const phrase, const SrNoteVerdict* const note, char* const words)
{
  const char* const written = sr_phrase_note(phrase, note->index)->name;
  char heard[12];
  if (note->heard_midi < 0) {
    snprintf(words, SR_LARGE_SIZE, "Not the %s", written);
    return;
  }
  sr_text_midi_name(note->heard_midi, sr_naming_of(phrase).flats, heard);
  if (abs(note->heard_midi - note->midi) < 12) {
    sr_show_drop_octave(heard);
  }
  snprintf(words, SR_LARGE_SIZE, "%s, not %s", heard, written);
}

bool
sr_large_fault(const SrPhrase* const phrase, const SrNoteVerdict* const note, char* const words)
{
  const char* const written = sr_phrase_note(phrase, note->index)->name;
  const bool strike = note->ornament == SR_ORNAMENT_STRIKE;
  const char* const name = strike ? "strike" : "cut";
  words[0] = '\0';
  if (note->status == SR_NOTE_WRONG) {
    say_wrong(phrase, note, words);
  } else if (note->status == SR_NOTE_MISSED) {
    snprintf(words, SR_LARGE_SIZE, "%s missed", written);
  } else if (note->status == SR_NOTE_PLAYED &&
             (note->joined == SR_YES || (note->has_cut && note->cut.verdict == SR_CUT_JOINED))) {
    snprintf(words, SR_LARGE_SIZE, "%s ran into %s", name_before(phrase, note->index), written);
  } else if (note->status == SR_NOTE_PLAYED && note->has_cut) {
    switch (note->cut.verdict) {
    case SR_CUT_LONG:
      snprintf(words, SR_LARGE_SIZE, "%s too long: %.0f ms", strike ? "Strike" : "Cut",
               note->cut.length_ms);
      break;
    case SR_CUT_ABSENT:
      snprintf(words, SR_LARGE_SIZE, "No %s on %s", name, written);
      break;
    case SR_CUT_STRAY:
      snprintf(words, SR_LARGE_SIZE, "Stray %s on %s", name, written);
      break;
    case SR_CUT_CLEAN:
    case SR_CUT_JOINED:
      break;
    }
  }
  return words[0] != '\0';
}
