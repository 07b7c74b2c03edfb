// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file terminal_view.h
   Output to a terminal or a file while a phrase is practised.
*/

#ifndef SR_APP_TERMINAL_VIEW_H
#define SR_APP_TERMINAL_VIEW_H

#include <steadyreed/session.h>
#include <steadyreed/show.h>

#include <stdbool.h>
#include <stddef.h>

/// One row of the table at the end.
typedef struct {
  double bpm;
  size_t played; ///< Notes as written, out of
  size_t notes;
  SrScores scores;
} SrRoundRow;

/// Output settings and state.
typedef struct {
  FILE* stream;
  const SrPhrase* phrase; ///< NULL for free listening
  SrShowStyle style;
  bool json;     ///< Events are written as JSON, so only warnings are printed as text
  bool moving;   ///< The stream is a terminal: a level line may be redrawn
  int line_open; ///< Columns of the current moving line, or 0
  int counting;  ///< The same for a count-in in progress
  bool alive;    ///< There has been input, or its absence was reported
  size_t notes_reported;
  bool lost;         ///< The playing does not follow the phrase; notes are not shown
  unsigned astray;   ///< Wrong or amended notes minus right ones, at least 0
  unsigned in_order; ///< Consecutive right notes up to now,
  size_t last_index; ///< and the last of them
  SrNoteVerdict*
      reported; ///< Verdict last received for each note of the phrase; NULL without memory
} SrTerminalView;

/// Create a view on a stream.
SrTerminalView sr_terminal_view(FILE* stream, const SrPhrase* phrase, bool json, bool all_notes);
/// Free what it holds.
void sr_view_clear(SrTerminalView* view);
/// Print a sentence; not with JSON.
void sr_view_say(SrTerminalView* view, const char* format, ...) SR_PRINTF(2, 3);
/// Print sentences, broken into lines indented by `indent` except the first; not with JSON.
void sr_view_paragraph(SrTerminalView* view, size_t indent, const char* text);
/// Print an important sentence; with JSON on standard error.
void sr_view_warn(SrTerminalView* view, const char* format, ...) SR_PRINTF(2, 3);
/**
   Show the level while nothing sounds.

   @param level_dbfs Most recent peak.
*/
void sr_view_level(SrTerminalView* view, double level_dbfs);
/// Show click `number` of the count-in, from 1, of `total`.
void sr_view_count_in(SrTerminalView* view, unsigned number, unsigned total);
/// Show a note, an amended note, a restart, a round, or that it was not a round.
void sr_view_heard(SrTerminalView* view, const SrSessionEvent* event);
/// Explain what holding the low note alone does.
void sr_view_signals(SrTerminalView* view, int midi, bool silent);
/// Print a remark about the recording.
void sr_view_remark(SrTerminalView* view, const char* remark);
/// Print that there is no input at all.
void sr_view_dead_input(SrTerminalView* view, const char* input_name);
/**
   Report once that there has been no input at all for a while.

   @param peak  Largest sample since the last call.
   @param now_s Time since listening began.
*/
void sr_view_watch_input(SrTerminalView* view, float peak, double now_s, const char* input_name);
/// Row of the table for a round.
SrRoundRow sr_round_row(const SrRound* round);
/// Print the header of the table of rounds, and the row of a round, `number` from 1; not with JSON.
void sr_view_table_begin(SrTerminalView* view, size_t rounds);
void sr_view_table_row(SrTerminalView* view, size_t number, const SrRoundRow* row);
/// Print all rounds of the kept take in a table, at the end.
void sr_view_sum_up(SrTerminalView* view, const SrShownTake* take);

#endif // SR_APP_TERMINAL_VIEW_H
