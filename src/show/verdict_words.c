// SPDX-License-Identifier: GPL-3.0-or-later

#include "verdict_words.h"

#include "tally.h"
#include "text.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NOTED_DIP_DB 1.5
#define NOTED_BEND_CENTS 5.0
/// A fall that deserves a remark, dB.
#define LEAST_FALL_DB 1.0
/// A note is off the pulse from three times the just noticeable displacement (common practice, no
/// source).
#define OFF_PULSE_FACTOR 3.0
/// A round less steady than this did not keep its tempo (common practice, no source).
#define STEADY 0.9

SrNaming
sr_naming_of(const SrPhrase* const phrase)
{
  SrNaming naming = {phrase, false};
  for (size_t i = 0; phrase && !naming.flats && i < sr_phrase_note_count(phrase); ++i) {
    naming.flats = strstr(sr_phrase_note(phrase, i)->name, "♭") != NULL;
  }
  return naming;
}

void
sr_words_add(char* const words, const char* const format, ...)
{
  const size_t length = strlen(words);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(words + length, SR_WORDS_SIZE - length, format, arguments);
  va_end(arguments);
}

const char*
sr_words_plural(const size_t count)
{
  return count == 1 ? "" : "s";
}

/// Name of a written note as the player would say it, without its octave if the phrase is known.
static const char*
plain_name(const SrNaming* const naming, const SrNoteVerdict* const note, char* const name)
{
  const SrPhrase* const phrase = naming->phrase;
  if (phrase && note->index < sr_phrase_note_count(phrase)) {
    return sr_phrase_note(phrase, note->index)->name;
  }
  return sr_text_midi_name(note->midi, naming->flats, name);
}

const char*
sr_words_note_name(const SrNaming* const naming, const SrRound* const round, const size_t index,
                   char* const name)
{
  char own[12];
  const char* const plain = plain_name(naming, &round->notes[index], own);
  // Notes of one bar as played are adjacent. A repeat of the bar may follow at once, but then the
  // first note of the bar comes again, and counting restarts at the bar line
  const SrPhrase* const phrase = naming->phrase;
  size_t place = 1;
  size_t total = 1;
  for (int step = -1; step <= 1; step += 2) {
    for (size_t at = index; step < 0 ? at > 0 : at + 1 < round->note_count;) {
      const size_t next = step < 0 ? at - 1 : at + 1;
      const size_t early = step < 0 ? next : at;
      if (round->notes[next].bar != round->notes[index].bar ||
          (phrase && sr_fraction_value(sr_phrase_note(phrase, early + 1)->in_bar) <=
                         sr_fraction_value(sr_phrase_note(phrase, early)->in_bar))) {
        break;
      }
      char other[12];
      if (!strcmp(plain_name(naming, &round->notes[next], other), plain)) {
        ++total;
        place += step < 0 ? 1 : 0;
      }
      at = next;
    }
  }
  static const char* const ends[] = {"th", "st", "nd", "rd"};
  const size_t digit = place % 100 >= 11 && place % 100 <= 13 ? 0 : place % 10;
  if (total > 1) {
    snprintf(name, SR_NOTE_NAME_SIZE, "%zu%s %s", place, digit <= 3 ? ends[digit] : "th", plain);
  } else {
    snprintf(name, SR_NOTE_NAME_SIZE, "%s", plain);
  }
  return name;
}

static void
say_wrong(const SrNaming* const naming, const SrNoteVerdict* const note, char* const words)
{
  char name[12];
  const int distance = abs(note->heard_midi - note->midi);
  if (note->heard_midi < 0) {
    sr_words_add(words, "wrong note");
    return;
  }
  sr_text_midi_name(note->heard_midi, naming->flats, name);
  if (distance > 0 && distance % 12 == 0) {
    sr_words_add(words, "wrong octave: %s was heard", name);
    return;
  }
  if (distance < 12) {
    // Next to a known note the octave is clear
    sr_show_drop_octave(name);
  }
  sr_words_add(words, "wrong note: %s was heard", name);
}

/// Append the verdict on the cut or strike before a note.
static void
sr_words_cut(const SrNoteVerdict* const note, char* const words)
{
  const SrCut* const cut = &note->cut;
  const char* const name = note->ornament == SR_ORNAMENT_STRIKE ? "strike" : "cut";
  switch (cut->verdict) {
  case SR_CUT_CLEAN:
    sr_words_add(words, "%s clean", name);
    if (isfinite(cut->length_ms)) {
      sr_words_add(words, ", %.0f ms", cut->length_ms);
    }
    break;
  case SR_CUT_LONG:
    sr_words_add(words, "%s long", name);
    if (isfinite(cut->length_ms)) {
      sr_words_add(words, ": %.0f ms, so it sounds like a note", cut->length_ms);
    }
    break;
  case SR_CUT_JOINED:
    sr_words_add(words, "%s joined: you held on to the note before", name);
    if (cut->fall_db >= LEAST_FALL_DB) {
      sr_words_add(words, " (it dropped %.0f dB)", cut->fall_db);
    }
    break;
  case SR_CUT_ABSENT:
    if (cut->midi >= 0) {
      sr_words_add(words, "%s absent: you played a %s instead", name,
                   cut->midi < note->midi ? "strike" : "cut");
    } else {
      sr_words_add(words, "%s absent: the notes were separate, but none was heard", name);
    }
    break;
  case SR_CUT_STRAY:
    sr_words_add(words, "stray cut: none is written here");
    break;
  }
}

bool
sr_words_is_listed(const SrNoteVerdict* const note)
{
  return note->ornament != SR_ORNAMENT_NONE && !sr_ornament_is_judged(note->ornament);
}

void
sr_words_ornament(const SrNoteVerdict* const note, char* const words)
{
  if (note->has_cut) {
    sr_words_cut(note, words);
  } else if (sr_words_is_listed(note)) {
    const bool heard = sr_ornament_is_heard(note->graces);
    const bool group = note->ornament == SR_ORNAMENT_GROUP;
    sr_words_add(words, "%s%s heard%s", heard ? "" : "no ",
                 group ? "graces" : sr_ornament_word(note->ornament),
                 heard && !sr_ornament_is_whole(note->ornament, note->graces) ? " in part" : "");
  }
}

void
sr_words_fault(const SrNaming* const naming, const SrNoteVerdict* const note, char* const words)
{
  words[0] = '\0';
  switch (note->status) {
  case SR_NOTE_MISSED:
    sr_words_add(words, note->left_out ? "missed: left out" : "missed");
    return;
  case SR_NOTE_UNHEARD:
    sr_words_add(words, "unheard: the recording has a gap here");
    return;
  case SR_NOTE_WRONG:
    say_wrong(naming, note, words);
    break;
  case SR_NOTE_PLAYED:
    break;
  }
  if (note->has_cut && note->cut.verdict != SR_CUT_CLEAN) {
    sr_words_add(words, "%s", words[0] ? "; " : "");
    sr_words_cut(note, words);
  } else if (note->joined == SR_YES && !note->has_cut) {
    sr_words_add(words, "%sjoined: it ran together with the note before", words[0] ? "; " : "");
  }
}

void
sr_words_air(const SrRound* const round, const size_t index, const bool all, char* const words)
{
  bool any = false;
  for (size_t i = 0; i < round->air_count; ++i) {
    const SrAirRelease* const air = &round->air[i];
    if (air->note_index != index || !(air->audible || all)) {
      continue;
    }
    any = true;
    sr_words_add(words, "%s", words[0] ? "; " : "");
    if (!air->audible) {
      sr_words_add(words, "air hidden, %.0f dB below what can be heard", -air->over_mask_db);
    } else if (air->between) {
      sr_words_add(words, "air heard after it, with no note to hide it");
    } else {
      sr_words_add(words, "air heard, %.0f dB louder than the note can hide", air->over_mask_db);
    }
    if (air->note_dip_db >= NOTED_DIP_DB) {
      sr_words_add(words, ", the note dipped by %.0f dB", air->note_dip_db);
    }
    if (fabs(air->note_bend_cents) >= NOTED_BEND_CENTS) {
      sr_words_add(words, ", bent %.0f cents %s", fabs(air->note_bend_cents),
                   air->note_bend_cents < 0.0 ? "flat" : "sharp");
    }
    if (air->failed) {
      sr_words_add(words, ", the next note did not speak");
    } else if (isfinite(air->late_ms)) {
      sr_words_add(words, ", the next note spoke %.0f ms late", air->late_ms);
    }
  }
  const SrNoteVerdict* const note = &round->notes[index];
  if (all && !any && note->air_asked && note->status == SR_NOTE_PLAYED) {
    sr_words_add(words, "%sair asked for, none heard", words[0] ? "; " : "");
  }
}

double
sr_words_noticeable_ms(const SrRound* const round, const size_t index)
{
  const size_t from = index > 0 ? index - 1 : index;
  if (from + 1 >= round->note_count) {
    return (double)NAN;
  }
  const double interval_ms = 1000.0 * (round->notes[from + 1].due_s - round->notes[from].due_s);
  return isfinite(interval_ms) ? sr_judge_just_noticeable_ms(interval_ms) : (double)NAN;
}

bool
sr_words_is_off_pulse(const SrRound* const round, const size_t index)
{
  const double offset_ms = round->notes[index].offset_ms;
  return isfinite(offset_ms) &&
         fabs(offset_ms) > OFF_PULSE_FACTOR * sr_words_noticeable_ms(round, index);
}

void
sr_words_offset(const double offset_ms, char* const words)
{
  sr_words_add(words, "%.0f ms %s", fabs(offset_ms), offset_ms > 0.0 ? "late" : "early");
}

bool
sr_words_is_other_tempo(const SrRound* const round)
{
  return sr_round_steadiness(round) < STEADY;
}
