// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file show.h
   An assessment as text for people, as JSON (steadyreed-assessment, version 1) and as CSV.

   Each function writes to an open stream; checking it for write errors (ferror(), fflush()) is up
   to the caller.
*/

#ifndef STEADYREED_SHOW_H
#define STEADYREED_SHOW_H

#include <steadyreed/declarations.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

SR_BEGIN_DECLARATIONS

/// Layout of text for people; all zero is plain ASCII without colour.
typedef struct {
  bool all_notes; ///< List every note, not only what went wrong
  bool colour;    ///< Use colour in addition to words, by ECMA-48 (SGR) sequences
  bool next_said; ///< What to play next is said apart, as by a tempo ladder: praise names no step
  bool unicode;   ///< The stream takes UTF-8: "F♯", "·"; otherwise "F#", "-"
  size_t columns; ///< Width of the terminal; 0 if there is none, as in SrShowLine
} SrShowStyle;

/// The result of one take: judged, or refused with a reason.
typedef struct {
  const char* path;               ///< As the player named it
  const SrPhrase* phrase;         ///< What was to be played
  const SrAssessment* assessment; ///< NULL if the take could not be judged
  const SrError* error;           ///< Why not; used if `assessment` is NULL
  const char* const* remarks; ///< Remarks about the recording, sentences; NULL if remark_count is 0
  size_t remark_count;        ///< Number of remarks
} SrShownTake;

/**
   Write one take as text, with lines broken as by sr_show_words(): a line for each round, then only
   what went wrong, then the scores and one piece of advice. A refused take is one sentence. Control
   characters in titles and paths are shown as '?'.
*/
void sr_show_text(FILE* stream, const SrShownTake* take, const SrShowStyle* style);

/**
   Write one note as a line (more if it must be broken) while the phrase is being played.

   @param amended It was reported differently before.
*/
void sr_show_note(FILE* stream, const SrPhrase* phrase, const SrNoteVerdict* note, bool amended,
                  const SrShowStyle* style);

/**
   Text from outside (a title, a path, the name of a device), made safe for a terminal: valid UTF-8,
   with control characters (C0, C1, including line feeds) and the directional marks of Unicode's
   bidirectional algorithm (UAX #9) replaced by '?'.

   @param unicode False for a terminal that is not UTF-8: all non-ASCII characters are replaced as
                  well.
   @return A copy; free it. NULL without memory.
*/
char* sr_show_safe(const char* text, bool unicode);

/// Maximum width of a line of words on any terminal, columns.
#define SR_SHOW_COLUMNS 80u

/// Where words are written; all zero is a line of its own without a terminal.
typedef struct {
  size_t column;  ///< Column where the first line continues, from 0
  size_t indent;  ///< Spaces before each further line; on a terminal at most its columns minus 20
  size_t columns; ///< Width of the terminal, 10 or more; 0 if there is none
  const char* broken; ///< Ends each continued line, such as " \\" in a command; NULL for nothing
} SrShowLine;

/**
   Write words, broken between words so that no line exceeds SR_SHOW_COLUMNS or the width of the
   terminal. A number stays with its unit and an option of a command with its value, if that fits. A
   word too long for a line is split at the edge of the terminal; without a terminal it stays whole.

   @param text Valid UTF-8 without control characters; a line feed breaks the line. Leading spaces
               are kept.
*/
void sr_show_words(FILE* stream, const char* text, const SrShowLine* line);

/// Width of valid UTF-8 on a terminal, columns: two for wide characters, none for combining ones,
/// by the locale.
size_t sr_show_columns(const char* text);

/// Size for the name of a note, bytes with its NUL.
#define SR_MIDI_NAME_SIZE 16

/// Name of a MIDI note 0 to 127, with a sharp if needed: "F♯5", or "F#5" in ASCII.
const char* sr_show_midi_name(int midi, const SrShowStyle* style, char name[SR_MIDI_NAME_SIZE]);

/// Cut the octave off a note's name: "F♯5" to "F♯". Returns the name.
const char* sr_show_drop_octave(char* name);

/// Write a remark about the recording, broken into lines.
void sr_show_remark(FILE* stream, const char* remark, const SrShowStyle* style);

/// Write one round that was just played, as sr_show_text() does, with its advice.
void sr_show_round(FILE* stream, const SrPhrase* phrase, const SrRound* round, size_t number,
                   const SrShowStyle* style);

/// Size for the spoken verdict on a round, bytes with its NUL: some six seconds.
#define SR_SPOKEN_SIZE 101

/**
   The verdict on a round for a voice: one or two sentences, the worst of its advice and, if both
   fit, the remedy; "Clean." for a round without a fault. In English: letters, digits, spaces,
   commas, full stops and apostrophes only, without abbreviations ("F sharp", "45 milliseconds").
   Capital letters that stand alone are names of notes.

   @param round  As judged.
   @param spoken Receives it.
   @return `spoken`.
*/
const char* sr_show_spoken(const SrRound* round, char spoken[SR_SPOKEN_SIZE]);

/**
   Write takes as JSON: one object for one take, an array of objects for more. A refused take is an
   object of format "steadyreed-refusal", version 1, with "take": {"path"} and "error".

   Keys added to version 1 of the assessment: "remarks" (strings about the recording) at the top
   level, and in a round "slips", each {"kind": "false start" | "restart" | "hesitation" | "hurried"
   | "left out" | "stopped" | "other tempo", "at_s", "note_index", "bar", "wait_s", "left_out",
   "until" (first note back in the old tempo, or null), "longer_percent"}, and "not_judged", each
   {"ornament": "roll" | "cran" | "group", "written" (on notes that were played), "heard" whole,
   "in_part"}; in a note "ornament": "cut" | "strike" | "roll" | "cran" | "group" | null, as
   written, and "graces": for an ornament that is not judged, the number heard; in a pulse
   "left_pulses" and "left_percent", null unless the player did not stay with the click. "cut" is
   the verdict on a strike as well. Seconds are rounded to 4 decimals, milliseconds, decibels and
   the like to 2, lilt to 4.

   @return SR_OK or SR_NO_MEMORY (then nothing was written).
*/
SrStatus sr_show_json(FILE* stream, const SrShownTake* takes, size_t count, SrError* error);
/// One judged take as the same object, on one line; free() it. NULL without memory.
char* sr_show_take_json(const SrShownTake* take);
/// A note's verdict as the same object, on one line; free() it. NULL without memory.
char* sr_show_note_json(const SrNoteVerdict* note);

/// Write the header line of the CSV (RFC 4180: comma, CR LF, double quotes).
void sr_show_csv_header(FILE* stream);

/**
   Write one take as one line of CSV.

   Counts are totals over all rounds; tempo, drift, spread and scores are means over the rounds that
   have them. Absent values are empty. A text cell that a spreadsheet would take for a formula is
   prefixed with an apostrophe.
*/
void sr_show_csv_row(FILE* stream, const SrShownTake* take);
/// Write one text as a cell of such a line, without a comma before or after it.
void sr_show_csv_text(FILE* stream, const char* text);

SR_END_DECLARATIONS

#endif // STEADYREED_SHOW_H
