// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file terminal_view.h
   What is seen on a terminal, or written to a file, while a phrase is practised.
*/

#ifndef SR_APP_TERMINAL_VIEW_H
#define SR_APP_TERMINAL_VIEW_H

#include <steadyreed/session.h>
#include <steadyreed/show.h>

#include <stdbool.h>
#include <stddef.h>

/// An input whose samples stay under this is dead: the least step of 16 bits is 3e-5 (common
/// practice, no source).
#define SR_DEAD_LEVEL 4e-5f

/// What the table at the end tells of a round.
typedef struct {
  double bpm;
  size_t played; ///< Notes as written, of
  size_t notes;
  SrScores scores;
} SrRoundRow;

/// How it is written.
typedef struct {
  FILE* stream;
  const SrPhrase* phrase; ///< NULL for free listening
  SrShowStyle style;
  bool json;     ///< Events go out as JSON, so no sentence but a warning is said
  bool moving;   ///< The stream is a terminal: a level line may move
  int line_open; ///< Columns of the moving line that stands there, or 0
  int counting;  ///< So of a count-in that goes on
  bool alive;    ///< Anything came in, or that nothing did was said
  size_t notes_told;
  bool lost;         ///< What is played is not as written, and no notes are written
  unsigned astray;   ///< Notes that went wrong or were taken back, more than right ones, at least 0
  unsigned in_order; ///< Right notes one behind the other up to here,
  size_t last_index; ///< … the last of them
  SrNoteVerdict* told; ///< What stands there of each note of the phrase; NULL without memory
} SrTerminalView;

/// On a stream.
SrTerminalView sr_terminal_view(FILE* stream, const SrPhrase* phrase, bool json, bool all_notes);
/// Free what it holds.
void sr_view_clear(SrTerminalView* view);
/// Say a sentence; not with JSON.
void sr_view_say(SrTerminalView* view, const char* format, ...) SR_PRINTF(2, 3);
/// Say sentences, broken into lines that are indented by `indent`, the first apart; not with JSON.
void sr_view_paragraph(SrTerminalView* view, size_t indent, const char* text);
/// Say a sentence that must be seen; with JSON on standard error.
void sr_view_warn(SrTerminalView* view, const char* format, ...) SR_PRINTF(2, 3);
/**
   While nothing sounds: how loud it is.

   @param level_dbfs Peak of the last moment.
*/
void sr_view_level(SrTerminalView* view, double level_dbfs);
/// A click of the count-in, `number` from 1, of `total`.
void sr_view_count_in(SrTerminalView* view, unsigned number, unsigned total);
/// A note, an amended one, a beginning again, a round, or what was none.
void sr_view_heard(SrTerminalView* view, const SrSessionEvent* event);
/// Tell what the low note does, if it is held alone.
void sr_view_signals(SrTerminalView* view, int midi, bool silent);
/// A sentence about the recording.
void sr_view_remark(SrTerminalView* view, const char* remark);
/// Say that nothing at all comes in.
void sr_view_dead_input(SrTerminalView* view, const char* input_name);
/**
   Say so once if nothing at all has come in for a while.

   @param peak  Largest sample since the last time.
   @param now_s Since listening began.
*/
void sr_view_watch_input(SrTerminalView* view, float peak, double now_s, const char* input_name);
/// What the table tells of a round.
SrRoundRow sr_round_row(const SrRound* round);
/// The head of the table of rounds, and the line of a round, `number` from 1; not with JSON.
void sr_view_table_begin(SrTerminalView* view, size_t rounds);
void sr_view_table_row(SrTerminalView* view, size_t number, const SrRoundRow* row);
/// All rounds of the kept take in a table, at the end.
void sr_view_sum_up(SrTerminalView* view, const SrShownTake* take);

#endif // SR_APP_TERMINAL_VIEW_H
