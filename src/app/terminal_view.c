// SPDX-License-Identifier: GPL-3.0-or-later

#include "terminal_view.h"

#include "quiet.h"
#include "say.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Most steps of the level line, columns beside them, columns of the short and long words; level at
/// the left end, dBFS.
#define LEVEL_STEPS 30
#define BESIDE_LEVEL 19
#define SHORT_WORDS 8
#define LONG_WORDS 30
#define LEVEL_LEAST_DB (-60.0)
/// A level above this is close to overdriven, below this barely audible, dBFS (common practice, no
/// source).
#define LEVEL_HIGH_DB (-3.0)
#define LEVEL_LOW_DB (-45.0)
/// Header of the table of rounds.
#define TABLE_HEAD "  round  pulses a minute  notes right  cuts  evenness   air"
/// Time without input, s, after which it counts as dead.
#define DEAD_AFTER_S 5.0
/// If wrong notes exceed right ones by this number, it is another tune; this many right notes in a
/// row are the phrase again. Of 2988 lines about other tunes 312 remain, and all 375 about playing
/// with every fourth note wrong.
#define ENOUGH 6

SrTerminalView
sr_terminal_view(FILE* const stream, const SrPhrase* const phrase, const bool json,
                 const bool all_notes)
{
  SrTerminalView view = {.stream = stream, .phrase = phrase, .json = json};
  view.style = sr_say_style(stream);
  view.style.all_notes = all_notes;
  view.moving = !json && isatty(fileno(stream));
  view.reported = phrase ? calloc(sr_phrase_note_count(phrase), sizeof(SrNoteVerdict)) : NULL;
  return view;
}

void
sr_view_clear(SrTerminalView* const view)
{
  free(view->reported);
  view->reported = NULL;
}

/// Width of a moving line: all columns but the last, since writing there scrolls some terminals.
static int
line_room(const SrTerminalView* const view)
{
  const size_t columns = sr_say_columns(view->stream);
  return (int)(columns ? columns : SR_SHOW_COLUMNS) - 1;
}

/// Erase the moving line to make room for a permanent one.
static void
clear_line(SrTerminalView* const view)
{
  if (view->line_open) {
    const int room = line_room(view);
    fprintf(view->stream, "\r%*s\r", view->line_open < room ? view->line_open : room, "");
    view->line_open = 0;
  }
  if (view->counting) {
    fputc('\n', view->stream);
    view->counting = 0;
  }
  // The terminal may have been resized
  view->style.columns = sr_say_columns(view->stream);
}

/// Write a permanent line.
static void write_line(SrTerminalView* view, FILE* stream, const char* format, va_list arguments)
    SR_PRINTF(3, 0);

static void
write_line(SrTerminalView* const view, FILE* const stream, const char* const format,
           va_list arguments)
{
  clear_line(view);
  sr_say_arguments(stream, format, arguments);
  fputc('\n', stream);
  fflush(stream);
}

void
sr_view_say(SrTerminalView* const view, const char* const format, ...)
{
  if (view->json) {
    return;
  }
  va_list arguments;
  va_start(arguments, format);
  write_line(view, view->stream, format, arguments);
  va_end(arguments);
}

void
sr_view_paragraph(SrTerminalView* const view, const size_t indent, const char* const text)
{
  if (!view->json) {
    clear_line(view);
    sr_say_paragraph(view->stream, indent, text);
    fflush(view->stream);
  }
}

void
sr_view_warn(SrTerminalView* const view, const char* const format, ...)
{
  // A message between JSON texts would be in the way
  const bool was_quiet = view->json && sr_quiet_end();
  va_list arguments;
  va_start(arguments, format);
  write_line(view, view->json ? stderr : view->stream, format, arguments);
  va_end(arguments);
  if (was_quiet) {
    sr_quiet_begin();
  }
}

void
sr_view_level(SrTerminalView* const view, const double level_dbfs)
{
  if (!view->moving) {
    return;
  }
  const int room = line_room(view);
  const bool full = room >= BESIDE_LEVEL + LEVEL_STEPS + LONG_WORDS;
  const int space = full ? LEVEL_STEPS : room - BESIDE_LEVEL - SHORT_WORDS;
  const int steps = space < 0 ? 0 : space < LEVEL_STEPS ? space : LEVEL_STEPS;
  char bar[LEVEL_STEPS + 1] = "";
  const double share = (level_dbfs - LEVEL_LEAST_DB) / -LEVEL_LEAST_DB;
  for (int i = 0; i < steps; ++i) {
    bar[i] = (double)i < share * steps ? '=' : ' ';
  }
  const char* const words = level_dbfs > LEVEL_HIGH_DB
                                ? (full ? "too loud: turn the input down" : "too loud")
                            : level_dbfs < LEVEL_LOW_DB ? "quiet"
                                                        : "";
  // A line too wide after the terminal was made smaller has already been broken by it
  if (view->line_open > room) {
    fputc('\n', view->stream);
  }
  view->line_open = fprintf(view->stream, "\r  input [%s] %4.0f dB %-*s", bar,
                            fmax(level_dbfs, -99.0), full ? LONG_WORDS : SHORT_WORDS, words) -
                    1;
  fflush(view->stream);
}

void
sr_view_count_in(SrTerminalView* const view, const unsigned number, const unsigned total)
{
  if (view->json) {
    return;
  }
  // Other output has ended the line since
  if (!view->counting) {
    clear_line(view);
    view->counting = fprintf(view->stream, "  Count-in:");
  }
  char words[32];
  const int length = snprintf(words, sizeof(words), number == total ? " %u - play" : " %u", number);
  if (view->moving && view->counting + length > line_room(view)) {
    fputs("\n   ", view->stream);
    view->counting = 3;
  }
  fputs(words, view->stream);
  view->counting += length;
  if (number == total) {
    fputc('\n', view->stream);
    view->counting = 0;
  }
  fflush(view->stream);
}

static void
show_round(SrTerminalView* const view, const SrSessionEvent* const event)
{
  const SrAssessment* const assessment = event->round.assessment;
  const SrRound* const round = &assessment->rounds[assessment->round_count - 1];
  sr_show_round(view->stream, view->phrase, round, event->round.number, &view->style);
  fputc('\n', view->stream);
}

/// Whether an amended note deserves a line; a stray cut that appears or vanishes does not.
static bool
is_worth_a_line(const SrTerminalView* const view, const SrSessionEvent* const event)
{
  if (event->kind != SR_SESSION_AMENDED || !view->reported) {
    return true;
  }
  const SrNoteVerdict* const was = &view->reported[event->note.verdict.index];
  const SrNoteVerdict* const is = &event->note.verdict;
  const bool cut_was = was->has_cut && was->cut.verdict != SR_CUT_STRAY;
  const bool cut_is = is->has_cut && is->cut.verdict != SR_CUT_STRAY;
  return was->status != is->status || was->heard_midi != is->heard_midi ||
         was->joined != is->joined || cut_was != cut_is ||
         (cut_is && was->cut.verdict != is->cut.verdict);
}

/// Playing another tune would give an endless list of wrong or amended notes. So the player is
/// reported once, and notes are shown again once they are played as written.
static void
follow_player(SrTerminalView* const view, const SrSessionEvent* const event)
{
  const size_t index = event->note.verdict.index;
  const bool wrong = event->kind != SR_SESSION_NOTE ||
                     event->note.verdict.status == SR_NOTE_MISSED ||
                     event->note.verdict.status == SR_NOTE_WRONG;
  view->in_order = wrong ? 0 : index == view->last_index + 1 ? view->in_order + 1 : 1;
  view->last_index = index;
  view->astray = wrong ? view->astray + 1 : view->astray ? view->astray - 1 : 0;
  if (view->in_order >= ENOUGH) {
    view->astray = 0;
    view->lost = false;
  } else if (view->astray >= ENOUGH && !view->lost) {
    view->lost = true;
    sr_view_say(view, "  That is not the phrase; notes show again once you play it.");
  }
}

static void
show_note(SrTerminalView* const view, const SrSessionEvent* const event)
{
  follow_player(view, event);
  if (!view->lost && is_worth_a_line(view, event)) {
    clear_line(view);
    sr_show_note(view->stream, view->phrase, &event->note.verdict,
                 event->kind == SR_SESSION_AMENDED, &view->style);
    ++view->notes_reported;
  }
  if (view->reported) {
    view->reported[event->note.verdict.index] = event->note.verdict;
  }
}

void
sr_view_heard(SrTerminalView* const view, const SrSessionEvent* const event)
{
  if (view->json) {
    return;
  }
  if (event->kind == SR_SESSION_NOTE || event->kind == SR_SESSION_AMENDED) {
    show_note(view, event);
    fflush(view->stream);
    return;
  }
  clear_line(view);
  if (event->kind == SR_SESSION_AGAIN) {
    if (view->notes_reported > 1 && !view->lost) {
      sr_say_text(view->stream, "  From the top again.\n");
    }
  } else if (event->kind == SR_SESSION_ROUND) {
    show_round(view, event);
    view->astray = 0;
    view->lost = false;
  } else if (event->kind == SR_SESSION_NOTHING && event->nothing.notes) {
    sr_say_text(view->stream,
                "  Your last round was not finished: the take has it, and it does not count.\n");
  } else if (view->notes_reported > 2 && !view->lost) {
    sr_say_text(view->stream, "  That was not a round, so it does not count.\n");
  }
  view->notes_reported = 0;
  fflush(view->stream);
}

/// A rounded number, or a dash for NAN.
static void
write_number(const double value, char text[32])
{
  if (isfinite(value)) {
    snprintf(text, 32, "%.0f", value);
  } else {
    snprintf(text, 32, "-");
  }
}

void
sr_view_signals(SrTerminalView* const view, const int midi, const bool silent)
{
  char name[SR_MIDI_NAME_SIZE];
  sr_show_midi_name(midi, &view->style, name);
  if (silent) {
    sr_view_say(view, "So does a low %s, held on its own for four seconds between rounds.", name);
  } else {
    char words[256];
    snprintf(words, sizeof(words),
             "Between rounds, hold a low %s on its own for two seconds to hear the phrase; do it "
             "twice to slow down; hold it for four to finish. A short tone says when.",
             name);
    sr_view_paragraph(view, 0, words);
  }
}

void
sr_view_remark(SrTerminalView* const view, const char* const remark)
{
  if (!view->json) {
    clear_line(view);
    sr_show_remark(view->stream, remark, &view->style);
  }
}

void
sr_view_dead_input(SrTerminalView* const view, const char* const input_name)
{
  sr_view_say(view,
              "  Nothing at all is coming in from %s.\n  Is it muted, or is it the wrong input?\n  "
              "`steadyreed practise --devices` lists them all.",
              input_name);
}

void
sr_view_watch_input(SrTerminalView* const view, const float peak, const double now_s,
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

/// Whether the terminal is too narrow for the table of rounds; each round is then a sentence.
static bool
is_narrow(const SrTerminalView* const view)
{
  const size_t columns = sr_say_columns(view->stream);
  return columns && columns < strlen(TABLE_HEAD);
}

void
sr_view_table_begin(SrTerminalView* const view, const size_t rounds)
{
  sr_view_say(view, "\n%zu round%s in all", rounds, rounds == 1 ? "" : "s");
  if (!is_narrow(view)) {
    sr_view_say(view, TABLE_HEAD);
  }
}

void
sr_view_table_row(SrTerminalView* const view, const size_t number, const SrRoundRow* const row)
{
  char bpm[32];
  char cuts[32];
  char evenness[32];
  char air[32];
  write_number(row->bpm, bpm);
  write_number(row->scores.cuts, cuts);
  write_number(row->scores.evenness, evenness);
  write_number(row->scores.air, air);
  if (is_narrow(view)) {
    sr_view_say(view,
                "  round %zu: pulses a minute %s, notes right %zu of %zu, cuts %s, evenness %s, "
                "air %s",
                number, bpm, row->played, row->notes, cuts, evenness, air);
  } else {
    sr_view_say(view, "  %5zu%17s  %4zu of %-4zu%6s%10s%6s", number, bpm, row->played, row->notes,
                cuts, evenness, air);
  }
}

void
sr_view_sum_up(SrTerminalView* const view, const SrShownTake* const take)
{
  const SrAssessment* const assessment = take->assessment;
  clear_line(view);
  sr_view_table_begin(view, assessment->round_count);
  for (size_t r = 0; r < assessment->round_count; ++r) {
    const SrRoundRow row = sr_round_row(&assessment->rounds[r]);
    sr_view_table_row(view, r + 1, &row);
  }
}
