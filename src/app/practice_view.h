// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file practice_view.h
   What is seen on a terminal, or written to a file, while a phrase is practised.
*/

#ifndef SR_APP_PRACTICE_VIEW_H
#define SR_APP_PRACTICE_VIEW_H

#include <steadyreed/live.h>
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
  bool json;     ///< Each round as JSON instead of text
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
} SrPracticeView;

/// On a stream.
SrPracticeView sr_practice_view(FILE* stream, const SrPhrase* phrase, bool json, bool all_notes);
/// Free what it holds.
void sr_view_clear(SrPracticeView* view);
/// Say a sentence; not with JSON.
void sr_view_say(SrPracticeView* view, const char* format, ...) SR_PRINTF(2, 3);
/// Say sentences, broken into lines that are indented by `indent`, the first apart; not with JSON.
void sr_view_paragraph(SrPracticeView* view, size_t indent, const char* text);
/// Say a sentence that must be seen; with JSON on standard error.
void sr_view_warn(SrPracticeView* view, const char* format, ...) SR_PRINTF(2, 3);
/**
   While nothing sounds: how loud it is.

   @param level_dbfs Peak of the last moment.
*/
void sr_view_level(SrPracticeView* view, double level_dbfs);
/// A click of the count-in, `number` from 1, of `total`.
void sr_view_count_in(SrPracticeView* view, unsigned number, unsigned total);
/// One piece of news of a phrase.
void sr_view_news(SrPracticeView* view, const SrNews* news);
/// Tell what the low note does, if it is held alone.
void sr_view_signals(SrPracticeView* view, int midi, bool silent);
/// A sentence about the recording.
void sr_view_remark(SrPracticeView* view, const char* remark);
/// Say that nothing at all comes in.
void sr_view_dead_input(SrPracticeView* view, const char* input_name);
/**
   Say so once if nothing at all has come in for a while.

   @param peak  Largest sample since the last time.
   @param now_s Since listening began.
*/
void sr_view_watch_input(SrPracticeView* view, float peak, double now_s, const char* input_name);
/// What the table tells of a round.
SrRoundRow sr_round_row(const SrRound* round);
/// The head of a table of so many rounds, and a round's line, `number` from 1; not with JSON.
void sr_view_table_begin(SrPracticeView* view, size_t rounds);
void sr_view_table_row(SrPracticeView* view, size_t number, const SrRoundRow* row);
/// All rounds in a table, or the kept take's JSON as `assess` writes it, at the end.
void sr_view_sum_up(SrPracticeView* view, const SrShownTake* take);

#endif // SR_APP_PRACTICE_VIEW_H
