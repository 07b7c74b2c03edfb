// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file phrase.c
   A phrase: the notes of the chosen bars, with repeats written out.
*/

#include "phrase_impl.h"

#include "tune_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void
sr_phrase_del(SrPhrase* const phrase)
{
  if (phrase) {
    free(phrase->notes);
    free(phrase->bars);
    free(phrase);
  }
}

const char*
sr_phrase_title(const SrPhrase* const phrase)
{
  return phrase->title;
}

int
sr_phrase_tune(const SrPhrase* const phrase)
{
  return phrase->tune;
}

const char*
sr_phrase_key(const SrPhrase* const phrase)
{
  return phrase->key;
}

int
sr_phrase_transposed(const SrPhrase* const phrase)
{
  return phrase->transposed;
}

size_t
sr_phrase_remark_count(const SrPhrase* const phrase)
{
  return phrase->remark_count;
}

const char*
sr_phrase_remark(const SrPhrase* const phrase, const size_t index)
{
  return phrase->remarks[index];
}

size_t
sr_phrase_note_count(const SrPhrase* const phrase)
{
  return phrase->note_count;
}

const SrPhraseNote*
sr_phrase_note(const SrPhrase* const phrase, const size_t index)
{
  return &phrase->notes[index];
}

void
sr_phrase_ask_air(SrPhrase* const phrase, const size_t index)
{
  if (index < phrase->note_count) {
    phrase->notes[index].air = true;
  }
}

size_t
sr_phrase_bar_count(const SrPhrase* const phrase)
{
  return phrase->bar_count;
}

const SrPhraseBar*
sr_phrase_bar(const SrPhrase* const phrase, const size_t index)
{
  return &phrase->bars[index];
}

SrFraction
sr_phrase_length(const SrPhrase* const phrase)
{
  return phrase->length;
}

double
sr_phrase_tempo(const SrPhrase* const phrase)
{
  return phrase->tempo;
}

static bool
joins(const SrPhraseNote* const before, const bool tied, const SrPhraseNote* const note)
{
  const SrFraction end = sr_fraction_add(before->start, before->length);
  // A note with a grace is re-attacked, tied or not
  return note->ornament == SR_ORNAMENT_NONE && tied && before->midi == note->midi &&
         sr_fraction_compare(end, note->start) == 0;
}

/// Expand the played bars into one sequence of notes.
static SrStatus
write_out(SrPhrase* const phrase, const SrTune* const tune, const SrPlayedBar* const played,
          const size_t count, const char* const name, SrError* const error)
{
  size_t most = 0;
  for (size_t i = 0; i < count; ++i) {
    most += tune->bars[played[i].bar].count;
  }
  if (most > SR_PHRASE_MOST_NOTES) {
    sr_error_set(
        error, SR_TOO_LARGE,
        "With its repeats written out, this has more than %u notes; choose some bars or a part.",
        SR_PHRASE_MOST_NOTES);
    sr_error_place(error, name, 0, 0);
    return SR_TOO_LARGE;
  }
  phrase->notes = (SrPhraseNote*)calloc(most ? most : 1, sizeof(SrPhraseNote));
  phrase->bars = (SrPhraseBar*)calloc(count ? count : 1, sizeof(SrPhraseBar));
  if (!phrase->notes || !phrase->bars) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  SrFraction time = sr_fraction(0, 1);
  bool tied = false;
  for (size_t i = 0; i < count; ++i) {
    const SrWrittenBar* const bar = &tune->bars[played[i].bar];
    phrase->bars[phrase->bar_count++] = (SrPhraseBar){bar->number,     time,
                                                      bar->length,     bar->meter.beats,
                                                      bar->meter.unit, sr_meter_pulse(&bar->meter)};
    for (size_t j = bar->first; j < bar->first + bar->count; ++j) {
      SrPhraseNote note = tune->notes[j].note;
      note.bar = bar->number;
      note.in_bar = sr_fraction_add(bar->offset, note.start);
      note.start = sr_fraction_add(time, note.start);
      SrPhraseNote* const before =
          phrase->note_count ? &phrase->notes[phrase->note_count - 1] : NULL;
      if (before && joins(before, tied, &note)) {
        before->length = sr_fraction_add(before->length, note.length);
        before->air = before->air || note.air;
      } else {
        phrase->notes[phrase->note_count++] = note;
      }
      tied = tune->notes[j].tied;
    }
    time = sr_fraction_add(time, bar->length);
  }
  phrase->length = time;
  if (phrase->note_count == 0 || !sr_fraction_valid(time)) {
    sr_error_set(error, phrase->note_count ? SR_TOO_LARGE : SR_NOT_FOUND,
                 phrase->note_count ? "The lengths do not add up to a usable fraction."
                                    : "There are no notes in what you chose.");
    sr_error_place(error, name, 0, 0);
    return phrase->note_count ? SR_TOO_LARGE : SR_NOT_FOUND;
  }
  return SR_OK;
}

/// Write the remarks on what was assumed and what was ignored.
static void
make_remarks(SrPhrase* const phrase, const SrTune* const tune)
{
  if (tune->meter_assumed) {
    snprintf(phrase->remarks[phrase->remark_count++], sizeof(phrase->remarks[0]),
             "There is no M: field; this %.60s is taken to be in %d/%d.", tune->rhythm,
             tune->assumed.beats, tune->assumed.unit);
  }
  if (tune->has_voices) {
    snprintf(phrase->remarks[phrase->remark_count++], sizeof(phrase->remarks[0]),
             "Only the first voice is practised; the others named by V: fields are ignored.");
  }
}

SrStatus
sr_phrase_read_text(const char* const text, const size_t size, const char* const name,
                    const SrPhraseChoice* const choice, SrPhrase** const phrase,
                    SrError* const error)
{
  *phrase = NULL;
  if (size > SR_PHRASE_MOST_BYTES) {
    sr_error_set(error, SR_TOO_LARGE, "A tune file may be at most %u bytes.", SR_PHRASE_MOST_BYTES);
    sr_error_place(error, name, 0, 0);
    return SR_TOO_LARGE;
  }
  SrTune tune = {0};
  SrPlayedBar* played = NULL;
  size_t count = 0;
  SrPhrase* result = NULL;
  SrStatus status = sr_tune_from_text(text, size, name, choice, &tune, error);
  if (status == SR_OK) {
    status = sr_tune_unfold(&tune, choice, name, &played, &count, error);
  }
  if (status == SR_OK) {
    result = (SrPhrase*)calloc(1, sizeof(SrPhrase));
    status = result ? write_out(result, &tune, played, count, name, error)
                    : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  if (status == SR_OK && result) {
    memcpy(result->title, tune.title, sizeof(tune.title));
    memcpy(result->key, tune.key_name, sizeof(tune.key_name));
    result->tune = tune.number;
    result->sharps = tune.sharps;
    make_remarks(result, &tune);
    if (tune.tempo > 0.0) {
      const double pulse = sr_fraction_value(result->bars[0].pulse);
      result->tempo = tune.tempo * sr_fraction_value(tune.tempo_unit) / pulse;
    }
    status = sr_phrase_shift(result, choice ? choice->transpose : 0, error);
    if (status != SR_OK) {
      sr_error_place(error, name, 0, 0);
    }
  }
  if (status == SR_OK) {
    *phrase = result;
  } else {
    sr_phrase_del(result);
  }
  free(played);
  free(tune.notes);
  free(tune.bars);
  return status;
}

SrStatus
sr_phrase_read_file(const char* const path, const SrPhraseChoice* const choice,
                    SrPhrase** const phrase, SrError* const error)
{
  char* text = NULL;
  size_t size = 0;
  *phrase = NULL;
  SrStatus status = sr_tune_file_read(path, &text, &size, error);
  if (status == SR_OK) {
    status = sr_phrase_read_text(text, size, path, choice, phrase, error);
    free(text);
  }
  return status;
}
