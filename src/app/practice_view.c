// SPDX-License-Identifier: GPL-3.0-or-later

#include "practice_view.h"

#include "quiet.h"
#include "say.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Steps of the level line, and the level at its left end, dBFS.
#define LEVEL_STEPS 30
#define LEVEL_LEAST_DB (-60.0)
/// A level over this is about to be overdriven, and under this hardly to be heard, dBFS (common
/// practice, no source).
#define LEVEL_HIGH_DB (-3.0)
#define LEVEL_LOW_DB (-45.0)
/// Nothing has come in for a while, s.
#define DEAD_AFTER_S 5.0

SrPracticeView
sr_practice_view(FILE* const stream, const SrPhrase* const phrase, const bool json,
                 const bool all_notes)
{
  SrPracticeView view = {.stream = stream, .phrase = phrase, .json = json};
  view.style = sr_say_style(stream);
  view.style.all_notes = all_notes;
  view.moving = !json && isatty(fileno(stream));
  view.told = phrase ? calloc(sr_phrase_note_count(phrase), sizeof(SrNoteVerdict)) : NULL;
  return view;
}

void
sr_view_clear(SrPracticeView* const view)
{
  free(view->told);
  view->told = NULL;
}

/// Take the moving line away, so that a line can stand.
static void
clear_line(SrPracticeView* const view)
{
  if (view->line_open) {
    fprintf(view->stream, "\r%*s\r", 78, "");
    view->line_open = false;
  }
  if (view->counting) {
    fputc('\n', view->stream);
    view->counting = false;
  }
}

/// A line of its own; NULL, without memory, is none.
static void
write_line(SrPracticeView* const view, FILE* const stream, const char* const line)
{
  clear_line(view);
  fprintf(stream, "%s\n", line ? line : "");
  fflush(stream);
}

void
sr_view_say(SrPracticeView* const view, const char* const format, ...)
{
  if (view->json) {
    return;
  }
  char* line = NULL;
  va_list arguments;
  va_start(arguments, format);
  if (vasprintf(&line, format, arguments) < 0) {
    line = NULL;
  }
  va_end(arguments);
  write_line(view, view->stream, line);
  free(line);
}

void
sr_view_warn(SrPracticeView* const view, const char* const format, ...)
{
  // Between JSON texts it would be in the way
  const bool was_quiet = view->json && sr_quiet_end();
  char* line = NULL;
  va_list arguments;
  va_start(arguments, format);
  if (vasprintf(&line, format, arguments) < 0) {
    line = NULL;
  }
  va_end(arguments);
  write_line(view, view->json ? stderr : view->stream, line);
  free(line);
  if (was_quiet) {
    sr_quiet_begin();
  }
}

void
sr_view_level(SrPracticeView* const view, const double level_dbfs)
{
  if (!view->moving) {
    return;
  }
  char bar[LEVEL_STEPS + 1];
  const double share = (level_dbfs - LEVEL_LEAST_DB) / -LEVEL_LEAST_DB;
  for (int i = 0; i < LEVEL_STEPS; ++i) {
    bar[i] = (double)i < share * LEVEL_STEPS ? '=' : ' ';
  }
  bar[LEVEL_STEPS] = '\0';
  const char* const words = level_dbfs > LEVEL_HIGH_DB  ? "too loud: turn the input down"
                            : level_dbfs < LEVEL_LOW_DB ? "quiet"
                                                        : "";
  fprintf(view->stream, "\r  input [%s] %4.0f dB %-30s", bar, fmax(level_dbfs, -99.0), words);
  fflush(view->stream);
  view->line_open = true;
}

void
sr_view_count_in(SrPracticeView* const view, const unsigned number, const unsigned total)
{
  if (view->json) {
    return;
  }
  // What was played meanwhile has ended the line
  if (!view->counting) {
    clear_line(view);
    fputs("  Count-in:", view->stream);
  }
  fprintf(view->stream, " %u", number);
  if (number == total) {
    fputs(" - play\n", view->stream);
  }
  view->counting = number != total;
  fflush(view->stream);
}

static void
show_round(SrPracticeView* const view, const SrNews* const news)
{
  SrAssessment* const assessment = news->assessment;
  const SrRound* const round = &assessment->rounds[assessment->round_count - 1];
  if (view->json) {
    const SrShownTake take = {.path = "", .phrase = view->phrase, .assessment = assessment};
    sr_show_json(view->stream, &take, 1, NULL);
  } else {
    sr_show_round(view->stream, view->phrase, round, news->round, &view->style);
    fputc('\n', view->stream);
  }
}

/// Whether an amended note is worth a line: a cut that nobody wrote is not, if it comes or goes by
/// itself.
static bool
is_worth_a_line(const SrPracticeView* const view, const SrNews* const news)
{
  if (news->kind != SR_NEWS_AMENDED || !view->told) {
    return true;
  }
  const SrNoteVerdict* const was = &view->told[news->note.index];
  const SrNoteVerdict* const is = &news->note;
  const bool cut_was = was->has_cut && was->cut.verdict != SR_CUT_STRAY;
  const bool cut_is = is->has_cut && is->cut.verdict != SR_CUT_STRAY;
  return was->status != is->status || was->heard_midi != is->heard_midi ||
         was->joined != is->joined || cut_was != cut_is ||
         (cut_is && was->cut.verdict != is->cut.verdict);
}

static void
show_note(SrPracticeView* const view, const SrNews* const news)
{
  if (is_worth_a_line(view, news)) {
    clear_line(view);
    sr_show_note(view->stream, view->phrase, &news->note, news->kind == SR_NEWS_AMENDED,
                 &view->style);
    ++view->notes_told;
  }
  if (view->told) {
    view->told[news->note.index] = news->note;
  }
}

void
sr_view_news(SrPracticeView* const view, const SrNews* const news)
{
  if (view->json && news->kind != SR_NEWS_ROUND) {
    return;
  }
  if (news->kind == SR_NEWS_NOTE || news->kind == SR_NEWS_AMENDED) {
    show_note(view, news);
    fflush(view->stream);
    return;
  }
  clear_line(view);
  switch (news->kind) {
  case SR_NEWS_NOTE:
  case SR_NEWS_AMENDED:
    break;
  case SR_NEWS_AGAIN:
    if (view->notes_told > 1) {
      fputs("  From the beginning again.\n", view->stream);
    }
    view->notes_told = 0;
    break;
  case SR_NEWS_ROUND:
    show_round(view, news);
    view->notes_told = 0;
    break;
  case SR_NEWS_NOTHING:
    if (view->notes_told > 2) {
      fputs("  That was no round; it does not count.\n", view->stream);
    }
    view->notes_told = 0;
    break;
  case SR_NEWS_SIGNAL:
    break;
  }
  fflush(view->stream);
}

/// A score or a dash, four columns wide.
static void
write_number(FILE* const stream, const double value, const int width)
{
  if (isfinite(value)) {
    fprintf(stream, "%*.0f", width, value);
  } else {
    fprintf(stream, "%*s", width, "-");
  }
}

void
sr_view_signals(SrPracticeView* const view, const int midi, const bool silent)
{
  char name[SR_MIDI_NAME_SIZE];
  sr_show_midi_name(midi, &view->style, name);
  if (silent) {
    sr_view_say(view, "A low %s held alone for four seconds between rounds ends it too.", name);
  } else {
    sr_view_say(view,
                "A low %s held alone for two seconds between rounds plays the phrase to you;\n"
                "twice, it goes on slower; held for four seconds, it ends.",
                name);
  }
}

void
sr_view_remark(SrPracticeView* const view, const char* const remark)
{
  if (!view->json) {
    clear_line(view);
    sr_show_remark(view->stream, remark, &view->style);
  }
}

void
sr_view_dead_input(SrPracticeView* const view, const char* const input_name)
{
  sr_view_say(view,
              "  Nothing at all comes in from %s.\n"
              "  Is it muted, or another input the right one?\n"
              "  `steadyreed practise --devices` lists them.",
              input_name);
}

void
sr_view_watch_input(SrPracticeView* const view, const float peak, const double now_s,
                    const char* const input_name)
{
  view->alive = view->alive || peak > SR_DEAD_LEVEL;
  if (!view->alive && now_s >= DEAD_AFTER_S) {
    sr_view_dead_input(view, input_name);
    view->alive = true;
  }
}

SrRoundRow
sr_round_row(const SrRound* const round)
{
  SrRoundRow row = {
      .bpm = round->pulse.played_bpm, .notes = round->note_count, .scores = round->scores};
  for (size_t i = 0; i < round->note_count; ++i) {
    row.played += round->notes[i].status == SR_NOTE_PLAYED;
  }
  return row;
}

void
sr_view_table_begin(SrPracticeView* const view, const size_t rounds)
{
  sr_view_say(view,
              "\n%zu round%s in all\n"
              "  round  pulses a minute  notes right  cuts  evenness   air",
              rounds, rounds == 1 ? "" : "s");
}

void
sr_view_table_row(SrPracticeView* const view, const size_t number, const SrRoundRow* const row)
{
  FILE* const stream = view->stream;
  if (view->json) {
    return;
  }
  fprintf(stream, "  %5zu", number);
  write_number(stream, row->bpm, 17);
  fprintf(stream, "  %4zu of %-4zu", row->played, row->notes);
  write_number(stream, row->scores.cuts, 6);
  write_number(stream, row->scores.evenness, 10);
  write_number(stream, row->scores.air, 6);
  fputc('\n', stream);
  fflush(stream);
}

void
sr_view_sum_up(SrPracticeView* const view, const SrShownTake* const take)
{
  const SrAssessment* const assessment = take->assessment;
  clear_line(view);
  if (view->json) {
    sr_show_json(view->stream, take, 1, NULL);
    return;
  }
  sr_view_table_begin(view, assessment->round_count);
  for (size_t r = 0; r < assessment->round_count; ++r) {
    const SrRoundRow row = sr_round_row(&assessment->rounds[r]);
    sr_view_table_row(view, r + 1, &row);
  }
}
