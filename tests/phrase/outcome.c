// SPDX-License-Identifier: GPL-3.0-or-later

#include "outcome.h"

#include "../support/clean_text.h"

#include <string.h>

static bool
is_valid(const SrFraction fraction)
{
  return fraction.denominator > 0 && fraction.numerator >= 0;
}

/// Exact, where the products of two positions fit (they do: limits of a phrase).
static bool
is_same(const SrFraction a, const SrFraction b)
{
  return a.numerator == b.numerator && a.denominator == b.denominator;
}

static bool
is_midi(const int number)
{
  return number >= 0 && number <= 127;
}

static const char*
look_at_note(const SrPhraseNote* const note)
{
  if (!is_midi(note->midi) || (note->cut_midi != -1 && !is_midi(note->cut_midi))) {
    return "a note is no MIDI note";
  }
  if (!is_valid(note->start) || !is_valid(note->length) || note->length.numerator == 0 ||
      !is_valid(note->in_bar)) {
    return "a note has no usable place or length";
  }
  if (!note->name[0] || !memchr(note->name, '\0', sizeof(note->name)) ||
      !sr_test_is_clean_text(note->name)) {
    return "a note has no name";
  }
  const bool single = sr_ornament_is_judged(note->ornament);
  if (note->ornament_count < 0 || note->ornament_count > SR_ORNAMENT_SIZE ||
      (note->cut_midi >= 0) != single ||
      (note->ornament_count > 0) != (note->ornament != SR_ORNAMENT_NONE && !single)) {
    return "an ornament has not the graces that it must";
  }
  if (single && (note->cut_midi > note->midi) != (note->ornament == SR_ORNAMENT_CUT)) {
    return "a strike is told as a cut, or a cut as a strike";
  }
  for (int i = 0; i < note->ornament_count; ++i) {
    if (!is_midi(note->ornament_midi[i])) {
      return "a note of an ornament is no MIDI note";
    }
  }
  if (note->chord_count < 0 || note->chord_count > SR_CHORD_SIZE) {
    return "a chord is too large";
  }
  for (int i = 0; i < note->chord_count; ++i) {
    if (!is_midi(note->chord_midi[i]) || note->chord_midi[i] >= note->midi) {
      return "a note of a chord is not below its melody";
    }
  }
  if (note->line == 0 || note->column == 0 || note->bar < 0) {
    return "a note has no place in the text";
  }
  return NULL;
}

static const char*
look_at_phrase(const SrPhrase* const phrase)
{
  const size_t notes = sr_phrase_note_count(phrase);
  const size_t bars = sr_phrase_bar_count(phrase);
  if (notes < 1 || notes > SR_PHRASE_MOST_NOTES || bars < 1 || bars > SR_PHRASE_MOST_PLAYED) {
    return "a phrase is over its limits";
  }
  if (!sr_test_is_clean_text(sr_phrase_title(phrase)) ||
      !sr_test_is_clean_text(sr_phrase_key(phrase))) {
    return "a title or key is not clean UTF-8";
  }
  if (!(sr_phrase_tempo(phrase) >= 0.0) || !(sr_phrase_tempo(phrase) < 1e9)) {
    return "a tempo is not usable";
  }
  double time = 0.0;
  for (size_t i = 0; i < notes; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const char* const wrong = look_at_note(note);
    if (wrong) {
      return wrong;
    }
    const double start = sr_fraction_value(note->start);
    if (start < time - 1e-6) {
      return "a note starts before the last one ends";
    }
    time = start + sr_fraction_value(note->length);
  }
  if (time > sr_fraction_value(sr_phrase_length(phrase)) + 1e-6) {
    return "a note ends behind its phrase";
  }
  time = 0.0;
  for (size_t i = 0; i < bars; ++i) {
    const SrPhraseBar* const bar = sr_phrase_bar(phrase, i);
    if (!is_valid(bar->start) || !is_valid(bar->length) || bar->length.numerator == 0 ||
        !is_valid(bar->pulse) || bar->pulse.numerator == 0) {
      return "a bar has no usable place, length or pulse";
    }
    const double start = sr_fraction_value(bar->start);
    if (start < time - 1e-6 || start > time + 1e-6) {
      return "a bar does not start where the last one ends";
    }
    time = start + sr_fraction_value(bar->length);
  }
  const SrFraction first = sr_phrase_bar(phrase, 0)->start;
  const SrFraction zero = {0, 1};
  return is_same(first, zero) ? NULL : "a phrase does not start at 0";
}

static const char*
look_at_error(const SrStatus status, const SrError* const error)
{
  if (error->status != status || !error->message[0]) {
    return "an error has no message";
  }
  if (!sr_test_is_clean_text(error->message)) {
    return "an error's message is not clean UTF-8";
  }
  if (strcmp(error->file, "name") != 0) {
    return "an error does not name its file";
  }
  if (error->column && !error->line) {
    return "an error has a column without a line";
  }
  switch (status) {
  case SR_BAD_SYNTAX:
  case SR_UNSUPPORTED:
  case SR_TOO_LARGE:
  case SR_NOT_FOUND:
    return NULL;
  case SR_OK:
  case SR_NO_MEMORY:
  case SR_BAD_ARGUMENT:
  case SR_NO_PERMISSION:
  case SR_BAD_AUDIO:
  case SR_NOTHING_HEARD:
  case SR_NO_MATCH:
  case SR_WRITE_FAILED:
  case SR_EXISTS:
  case SR_DEVICE_TROUBLE:
    break;
  }
  return "an error has a status that no text can have";
}

const char*
sr_test_outcome(const char* const text, const size_t size, const SrPhraseChoice* const choice,
                SrStatus* const status)
{
  SrPhrase* phrase = NULL;
  SrError error = {0};
  const SrStatus result = sr_phrase_read_text(text, size, "name", choice, &phrase, &error);
  if (status) {
    *status = result;
  }
  if ((result == SR_OK) != (phrase != NULL)) {
    sr_phrase_del(phrase);
    return "a phrase and its status do not agree";
  }
  const char* const wrong = phrase ? look_at_phrase(phrase) : look_at_error(result, &error);
  sr_phrase_del(phrase);
  return wrong;
}
