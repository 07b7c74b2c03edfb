// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/show.h>

#include "tally.h"
#include "text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// A row being written.
typedef struct {
  FILE* stream;
  bool begun;
} Row;

static void
begin_cell(Row* const row)
{
  if (row->begun) {
    fputc(',', row->stream);
  }
  row->begun = true;
}

void
sr_show_csv_text(FILE* const stream, const char* const text)
{
  char* const clean = sr_text_valid(text ? text : "");
  const char* const said = clean ? clean : "";
  // Spreadsheets run such a cell as a formula; an apostrophe makes it plain text
  const bool formula = said[0] && strchr("=+-@\t\r", said[0]) && said[1];
  if (formula || strpbrk(said, ",\"\r\n")) {
    fputs(formula ? "\"'" : "\"", stream);
    for (const char* c = said; *c; ++c) {
      if (*c == '"') {
        fputc('"', stream);
      }
      fputc(*c, stream);
    }
    fputc('"', stream);
  } else {
    fputs(said, stream);
  }
  free(clean);
}

static void
text_cell(Row* const row, const char* const text)
{
  begin_cell(row);
  sr_show_csv_text(row->stream, text);
}

static void
count_cell(Row* const row, const size_t count)
{
  begin_cell(row);
  fprintf(row->stream, "%zu", count);
}

static void
number_cell(Row* const row, const double value)
{
  begin_cell(row);
  if (isfinite(value)) {
    const double rounded = round(value * 10.0) / 10.0;
    fprintf(row->stream, "%.1f", rounded + 0.0);
  }
}

static void
end_row(const Row* const row)
{
  fputs("\r\n", row->stream);
}

// The columns from "bars" to "A4 Hz" are empty for a take that could not be judged
static const char* const column_names[] = {
    "take",
    "judged",
    "phrase",
    "bars",
    "rounds",
    "notes written",
    "notes played",
    "missed",
    "missed: left out",
    "wrong",
    "unheard",
    "extra",
    "false starts",
    "restarts",
    "hesitations",
    "hurried",
    "stopped",
    "cuts written",
    "cuts not played",
    "cuts clean",
    "cuts long",
    "cuts joined",
    "cuts absent",
    "cuts stray",
    "notes joined",
    "air asked",
    "air heard",
    "air heard elsewhere",
    "pulses a minute",
    "drift percent",
    "tempo change percent",
    "spread ms",
    "score cuts",
    "score evenness",
    "score air",
    "A4 Hz",
    "advice",
    "remarks",
    "why not judged",
};

#define COLUMN_COUNT (sizeof(column_names) / sizeof(column_names[0]))

void
sr_show_csv_header(FILE* const stream)
{
  Row row = {stream, false};
  for (size_t i = 0; i < COLUMN_COUNT; ++i) {
    text_cell(&row, column_names[i]);
  }
  end_row(&row);
}

/// A value of a round to average over rounds.
typedef double (*RoundValue)(const SrRound* round);

static double
tempo_of(const SrRound* const round)
{
  return round->pulse.played_bpm;
}

static double
drift_of(const SrRound* const round)
{
  return round->pulse.drift_percent;
}

static double
change_of(const SrRound* const round)
{
  return round->pulse.change_percent;
}

static double
spread_of(const SrRound* const round)
{
  return round->pulse.spread_ms;
}

static double
cuts_of(const SrRound* const round)
{
  return round->scores.cuts;
}

static double
evenness_of(const SrRound* const round)
{
  return round->scores.evenness;
}

static double
air_of(const SrRound* const round)
{
  return round->scores.air;
}

static void
mean_cell(Row* const row, const SrAssessment* const assessment, const RoundValue value_of)
{
  double sum = 0.0;
  size_t count = 0;
  for (size_t i = 0; i < assessment->round_count; ++i) {
    const double value = value_of(&assessment->rounds[i]);
    if (isfinite(value)) {
      sum += value;
      ++count;
    }
  }
  number_cell(row, count ? sum / (double)count : (double)NAN);
}

static void
remarks_cell(Row* const row, const SrShownTake* const take)
{
  char* joined = NULL;
  size_t size = 0;
  FILE* const stream = open_memstream(&joined, &size);
  for (size_t i = 0; stream && i < take->remark_count; ++i) {
    fprintf(stream, "%s%s", i ? " " : "", take->remarks[i]);
  }
  if (stream) {
    fclose(stream);
  }
  text_cell(row, joined);
  free(joined);
}

static void
write_refusal(Row* const row, const SrShownTake* const take)
{
  text_cell(row, take->path);
  text_cell(row, "no");
  text_cell(row, take->phrase ? sr_phrase_title(take->phrase) : "");
  for (size_t i = 3; i + 2 < COLUMN_COUNT; ++i) {
    text_cell(row, "");
  }
  remarks_cell(row, take);
  text_cell(row, take->error ? take->error->message : "");
}

void
sr_show_csv_row(FILE* const stream, const SrShownTake* const take)
{
  Row row = {stream, false};
  const SrAssessment* const assessment = take->assessment;
  if (!assessment) {
    write_refusal(&row, take);
    end_row(&row);
    return;
  }
  SrTally tally = {0};
  for (size_t i = 0; i < assessment->round_count; ++i) {
    sr_tally_add(&tally, &assessment->rounds[i]);
  }
  char bars[64];
  if (assessment->first_bar == assessment->last_bar) {
    snprintf(bars, sizeof(bars), "%d", assessment->first_bar);
  } else {
    // In words, since a spreadsheet would read 1-4 as a date
    snprintf(bars, sizeof(bars), "%d to %d", assessment->first_bar, assessment->last_bar);
  }
  text_cell(&row, take->path);
  text_cell(&row, "yes");
  text_cell(&row, assessment->title);
  text_cell(&row, bars);
  count_cell(&row, assessment->round_count);
  count_cell(&row, tally.notes);
  count_cell(&row, tally.played);
  count_cell(&row, tally.missed);
  count_cell(&row, tally.left_out);
  count_cell(&row, tally.wrong);
  count_cell(&row, tally.unheard);
  count_cell(&row, tally.insertions);
  count_cell(&row, tally.slips[SR_SLIP_FALSE_START]);
  count_cell(&row, tally.slips[SR_SLIP_RESTART]);
  count_cell(&row, tally.slips[SR_SLIP_HESITATION]);
  count_cell(&row, tally.slips[SR_SLIP_HURRIED]);
  count_cell(&row, tally.slips[SR_SLIP_STOPPED]);
  count_cell(&row, tally.cuts_asked);
  count_cell(&row, tally.cuts_asked - tally.cuts_judged);
  count_cell(&row, tally.cuts[SR_CUT_CLEAN]);
  count_cell(&row, tally.cuts[SR_CUT_LONG]);
  count_cell(&row, tally.cuts[SR_CUT_JOINED]);
  count_cell(&row, tally.cuts[SR_CUT_ABSENT]);
  count_cell(&row, tally.cuts[SR_CUT_STRAY]);
  count_cell(&row, tally.joined);
  count_cell(&row, tally.air_asked);
  count_cell(&row, tally.air_heard);
  count_cell(&row, tally.air_elsewhere);
  mean_cell(&row, assessment, tempo_of);
  mean_cell(&row, assessment, drift_of);
  mean_cell(&row, assessment, change_of);
  mean_cell(&row, assessment, spread_of);
  mean_cell(&row, assessment, cuts_of);
  mean_cell(&row, assessment, evenness_of);
  mean_cell(&row, assessment, air_of);
  number_cell(&row, assessment->reference_hz);
  size_t number = 0;
  text_cell(&row, sr_worst_advice(assessment, &number));
  remarks_cell(&row, take);
  text_cell(&row, "");
  end_row(&row);
}
