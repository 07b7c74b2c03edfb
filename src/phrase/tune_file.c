// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tune_file.c
   Finding a tune in a text of several, and reading its lines.
*/

#include "tune_file.h"

#include <steadyreed/input.h>

#include <string.h>
#include <strings.h>

/// Upper limit of X: numbers.
#define MOST_TUNE_NUMBER 1000000000

SrStatus
sr_tune_file_read(const char* const path, char** const text, size_t* const size,
                  SrError* const error)
{
  static const SrInputKind kind = {"tune file", SR_PHRASE_MOST_BYTES, false};
  return sr_input_read(path, &kind, text, size, error);
}

bool
sr_line_is_tune_start(const SrLine* const line, int* const number)
{
  if (line->size < 2 || line->text[0] != 'X' || line->text[1] != ':') {
    return false;
  }
  size_t at = 2;
  while (at < line->size && (line->text[at] == ' ' || line->text[at] == '\t')) {
    ++at;
  }
  // An empty X: is allowed and counts as 0 (ABC 2.1, section 3.1.1)
  *number = 0;
  for (; at < line->size && line->text[at] >= '0' && line->text[at] <= '9'; ++at) {
    *number =
        *number < MOST_TUNE_NUMBER / 10 ? 10 * *number + (line->text[at] - '0') : MOST_TUNE_NUMBER;
  }
  return true;
}

/// Handle a comment, which may be a directive, %%….
static SrStatus
use_comment(SrTuneReader* const reader, const SrLine* const line)
{
  if (line->comment_size < 2 || line->comment[1] != '%') {
    return SR_OK;
  }
  return sr_directive_use(reader, line, line->comment + 2, line->comment_size - 2);
}

SrStatus
sr_file_header_read(SrTuneReader* const reader, const char* const text, const size_t size)
{
  SrTune unused = {0};
  SrTune* const tune = reader->tune;
  size_t at = 0;
  unsigned number = 0;
  int index = 0;
  SrLine line;
  SrStatus status = SR_OK;
  reader->tune = &unused;
  while (status == SR_OK && sr_line_next(text, size, &at, &number, &line) &&
         !sr_line_is_tune_start(&line, &index) && !sr_line_is_empty(&line)) {
    const char name = line.size ? line.text[0] : '\0';
    if (sr_line_is_comment(&line)) {
      status = use_comment(reader, &line);
    } else if (sr_line_is_field(&line, false) && strchr("MLQRmUI", name)) {
      status = sr_field_use(reader, &line, 0, name, line.text + 2, line.size - 2, false);
    }
  }
  reader->tune = tune;
  tune->tempo = unused.tempo;
  tune->tempo_unit = unused.tempo_unit;
  tune->assignment = unused.assignment;
  memcpy(tune->rhythm, unused.rhythm, sizeof(tune->rhythm));
  return status;
}

/// Handle a field on a line of the body.
static SrStatus
body_field(SrTuneReader* const reader, SrMusic* const music, const SrLine* const line)
{
  const char name = line->text[0];
  if (reader->skips && name != 'V') {
    return SR_OK;
  }
  if (name == 'P') {
    for (size_t i = 2; i < line->size; ++i) {
      if (line->text[i] >= 'A' && line->text[i] <= 'Z') {
        sr_music_part(music, line->text[i]);
        break;
      }
    }
    return SR_OK;
  }
  return sr_field_use(reader, line, 0, name, line->text + 2, line->size - 2, true);
}

/// Read the lines of one tune after its X: line.
static SrStatus
read_tune(SrTuneReader* const reader, const char* const text, const size_t size, size_t at,
          unsigned number, const SrLine* const start)
{
  SrMusic* const music = sr_music_new(reader);
  if (!music) {
    return sr_error_set(reader->error, SR_NO_MEMORY, "There is not enough memory.");
  }
  SrLine line = *start;
  SrLine last = *start;
  bool in_body = false;
  int index = 0;
  SrStatus status = SR_OK;
  while (status == SR_OK && sr_line_next(text, size, &at, &number, &line)) {
    if (sr_line_is_comment(&line)) {
      status = use_comment(reader, &line);
      continue;
    }
    if (sr_line_is_empty(&line) || sr_line_is_tune_start(&line, &index)) {
      break;
    }
    last = line;
    if (in_body) {
      status = sr_line_is_field(&line, true) ? body_field(reader, music, &line)
                                             : sr_music_line(music, &line);
    } else if (sr_line_is_field(&line, false)) {
      const char name = line.text[0];
      status = sr_field_use(reader, &line, 0, name, line.text + 2, line.size - 2, false);
      if (name == 'K') {
        in_body = true;
        SrMeter* const meter = &reader->fields.meter;
        if (!reader->fields.meter_given && sr_meter_of_rhythm(reader->tune->rhythm, meter)) {
          reader->tune->meter_assumed = true;
          reader->tune->assumed = *meter;
        }
        // From here on M: no longer changes the unit (ABC 2.1, section 3.1.7)
        SrFields* const fields = &reader->fields;
        fields->unit = fields->unit_given ? fields->unit : sr_meter_unit(&fields->meter);
        fields->unit_given = true;
      }
    } else {
      status = sr_tune_fail(reader, SR_BAD_SYNTAX, &line, 0,
                            "There is music before the tune's K: field");
    }
  }
  if (status == SR_OK && !in_body) {
    status = sr_tune_fail(reader, SR_BAD_SYNTAX, &last, last.size,
                          "This tune has no K: field, which must end its header");
  }
  if (status == SR_OK) {
    status = sr_music_finish(music, &last);
  }
  sr_music_del(music);
  return status;
}

/// Line of the X: of the tune with a title, or else of one whose title contains it; 0 if there is
/// none. `count` receives the number of matches.
static unsigned
find_title(const char* const text, const size_t size, const char* const wanted, size_t* const count)
{
  size_t at = 0;
  unsigned number = 0;
  unsigned start = 0;
  unsigned found = 0;
  bool found_whole = false;
  int index = 0;
  SrLine line;
  *count = 0;
  while (sr_line_next(text, size, &at, &number, &line)) {
    char title[SR_TUNE_TEXT_SIZE];
    if (sr_line_is_tune_start(&line, &index)) {
      start = number;
    } else if (start && line.size > 2 && line.text[0] == 'T' && line.text[1] == ':') {
      sr_line_copy(line.text + 2, line.size - 2, title, sizeof(title));
      const bool whole = !strcasecmp(title, wanted);
      if (whole && !found_whole) {
        // A whole match is preferred to all partial ones
        found_whole = true;
        found = 0;
        *count = 0;
      }
      if (start != found && (found_whole ? whole : strcasestr(title, wanted) != NULL)) {
        found = *count ? found : start;
        ++*count;
      }
    }
  }
  return found;
}

/// Report that there is no such tune, or more than one.
static SrStatus
no_such_tune(const SrTuneReader* const reader, const SrPhraseChoice* const choice, const bool any,
             const size_t count)
{
  const SrStatus status = any ? SR_NOT_FOUND : SR_BAD_SYNTAX;
  if (!any) {
    sr_error_set(reader->error, status,
                 "There is no tune here: no line starts with X: (is this an ABC file?).");
  } else if (count > 1) {
    sr_error_set(reader->error, status,
                 "%zu tunes have \"%s\" in their title; type more of it, or the number of one.",
                 count, choice->title);
  } else if (choice->title) {
    sr_error_set(reader->error, status, "No tune in this file has \"%s\" in its title.",
                 choice->title);
  } else {
    sr_error_set(reader->error, status, "There is no tune with X:%d in this file.", choice->tune);
  }
  sr_error_place(reader->error, reader->name, 0, 0);
  return status;
}

SrStatus
sr_tune_read(SrTuneReader* const reader, const char* const text, const size_t size,
             const SrPhraseChoice* const choice)
{
  size_t at = 0;
  unsigned number = 0;
  int index = 0;
  bool any = false;
  size_t titled = 0;
  const char* const title = choice ? choice->title : NULL;
  const unsigned start = title ? find_title(text, size, title, &titled) : 0;
  const int wanted = choice ? choice->tune : 0;
  SrLine line;
  while (sr_line_next(text, size, &at, &number, &line)) {
    if (sr_line_is_tune_start(&line, &index)) {
      any = true;
      if (title ? titled == 1 && number == start : wanted == 0 || index == wanted) {
        reader->tune->number = index;
        reader->tune->line = number;
        return read_tune(reader, text, size, at, number, &line);
      }
    }
  }
  return no_such_tune(reader, choice, any, titled);
}

SrStatus
sr_tune_from_text(const char* const text, const size_t size, const char* const name,
                  const SrPhraseChoice* const choice, SrTune* const tune, SrError* const error)
{
  SrTuneReader reader = {.name = name, .error = error, .tune = tune};
  reader.fields.meter = (SrMeter){4, 4, true};
  // ABC 2.1, section 4.16: ~ is an Irish roll, unless U: redefines it
  reader.fields.symbols['~'] = SR_MARK_ROLL;
  const SrStatus status = sr_file_header_read(&reader, text, size);
  return status == SR_OK ? sr_tune_read(&reader, text, size, choice) : status;
}
