// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file assignment_write.c
   A tune copied line by line, with an assignment in its header.
*/

#include "assignment_directive.h"
#include "tune_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Fastest tempo of a Q: field.
#define MOST_TEMPO 2000.0

/// What is written, and where.
typedef struct {
  FILE* stream;
  const SrAssignment* assignment;
  double bpm; ///< NAN to keep Q:
  SrFraction pulse;
} Writer;

static void
write_line(const Writer* const w, const SrLine* const line)
{
  fwrite(line->text, 1, line->size + line->comment_size, w->stream);
  fputc('\n', w->stream);
}

static bool
is_field(const SrLine* const line, const char name)
{
  return line->size >= 2 && line->text[0] == name && line->text[1] == ':';
}

/// Whether a line is a directive of ours, %%… or I:….
static bool
is_directive(const SrLine* const line)
{
  const bool comment =
      sr_line_is_comment(line) && line->comment_size > 2 && line->comment[1] == '%';
  if (!comment && !is_field(line, 'I')) {
    return false;
  }
  const char* text = comment ? line->comment + 2 : line->text + 2;
  size_t size = comment ? line->comment_size - 2 : line->size - 2;
  for (; size && (*text == ' ' || *text == '\t'); ++text, --size) {
  }
  return sr_assignment_is_directive(text, size);
}

/// Write what is asked for, before the K: field, which ends the header.
static void
write_assignment(const Writer* const w)
{
  static const char* const clicks[] = {"", "pulses", "bars", "none"};
  const SrAssignment* const assignment = w->assignment;
  if (isfinite(w->bpm)) {
    fprintf(w->stream, "Q:%ld/%ld=%.0f\n", (long)w->pulse.numerator, (long)w->pulse.denominator,
            w->bpm);
  }
  if (assignment->part) {
    fprintf(w->stream, "%%%%steadyreed:part %c\n", assignment->part);
  } else if (assignment->last_bar > assignment->first_bar) {
    fprintf(w->stream, "%%%%steadyreed:bars %d-%d\n", assignment->first_bar, assignment->last_bar);
  } else if (assignment->last_bar) {
    fprintf(w->stream, "%%%%steadyreed:bars %d\n", assignment->last_bar);
  }
  if (assignment->click) {
    fprintf(w->stream, "%%%%steadyreed:click %s\n", clicks[assignment->click]);
  }
  if (assignment->on_bars) {
    fprintf(w->stream, "%%%%steadyreed:silent-bars %u:%u\n", assignment->on_bars,
            assignment->off_bars);
  }
  if (assignment->ladder) {
    fprintf(w->stream, "%%%%steadyreed:ladder %s\n",
            assignment->ladder == SR_ASSIGNED_LADDER_YES ? "yes" : "no");
  }
}

/// Copy the lines before the first tune that apply to all tunes. A tempo among them does no harm:
/// the tune's own comes after it.
static void
copy_file_header(const Writer* const w, const char* const text, const size_t size)
{
  size_t at = 0;
  unsigned number = 0;
  int index = 0;
  SrLine line;
  while (sr_line_next(text, size, &at, &number, &line) && !sr_line_is_tune_start(&line, &index)) {
    if (sr_line_is_empty(&line)) {
      fputs(number > 1 ? "\n" : "", w->stream);
      break;
    }
    if (!is_directive(&line)) {
      write_line(w, &line);
    }
  }
}

/// Copy the tune that begins on a line.
static void
copy_tune(const Writer* const w, const char* const text, const size_t size, const unsigned start)
{
  size_t at = 0;
  unsigned number = 0;
  int index = 0;
  bool in_header = true;
  SrLine line;
  while (sr_line_next(text, size, &at, &number, &line)) {
    if (number < start) {
      continue;
    }
    if (number > start && (sr_line_is_empty(&line) || sr_line_is_tune_start(&line, &index))) {
      break;
    }
    if (in_header && is_field(&line, 'K')) {
      in_header = false;
      write_assignment(w);
    }
    const bool other_tempo = in_header && isfinite(w->bpm) && is_field(&line, 'Q');
    if (!other_tempo && !is_directive(&line)) {
      write_line(w, &line);
    }
  }
}

SrStatus
sr_assignment_write(const char* const path, const SrPhraseChoice* const choice,
                    const SrAssignment* const assignment, const double bpm, char** const written,
                    SrError* const error)
{
  *written = NULL;
  if (isfinite(bpm) && !(bpm >= 1.0 && bpm <= MOST_TEMPO && bpm == floor(bpm))) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The tempo in a file is a whole number from 1 to %.0f.", MOST_TEMPO);
  }
  char* text = NULL;
  size_t size = 0;
  SrStatus status = sr_tune_file_read(path, &text, &size, error);
  if (status != SR_OK) {
    return status;
  }
  SrTune tune = {0};
  status = sr_tune_from_text(text, size, path, choice, &tune, error);
  if (status == SR_OK) {
    size_t length = 0;
    const SrMeter plain = {4, 4, false};
    const SrMeter* const meter = tune.bar_count ? &tune.bars[0].meter : &plain;
    const Writer writer = {open_memstream(written, &length), assignment, bpm,
                           sr_meter_pulse(meter)};
    if (writer.stream) {
      copy_file_header(&writer, text, size);
      copy_tune(&writer, text, size, tune.line);
    }
    if (!writer.stream || fclose(writer.stream) != 0 || !*written) {
      free(*written);
      *written = NULL;
      status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write the tune.");
    }
  }
  free(tune.notes);
  free(tune.bars);
  free(text);
  return status;
}
