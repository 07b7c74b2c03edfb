// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file history_file.h
   The history of practice as one file, to carry it elsewhere or read it in another program, and
   back without loss.

   JSON: {"format": "steadyreed-history", "version": 1, "rounds": [ROUND, ...]}, a line a round. CSV
   (RFC 4180): a header line, then a record a round. A round has the same names in both:

   uid, utc_ms, utc_offset_s | identity, title, file, tune, first_bar, last_bar, chosen_bars (0 or
   1), part ("A" to "Z" or ""), transposed, phrase_notes | asked_bpm, played_bpm, click ("none",
   "pulses", "bars"), on_bars, off_bars, layout, style | score_cuts, score_evenness, score_air,
   clean (0 or 1) | notes, notes_right, cuts, cuts_clean, air, air_heard, spread_ms, offset_ms,
   alone, alone_ms, seconds: see SrRoundFigures | take (file name), take_bytes, take_changed_ms (of
   the file), take_marked (0 or 1) | bars: an array of objects with the names of SrBarFigures,
   without rounds and faults | assessment: the object of sr_show_json(), or null.

   Absent values are null, or empty in CSV, where `bars` and `assessment` are JSON in a cell. A cell
   that a spreadsheet would take for a formula has an apostrophe in front, and so has one that
   begins with an apostrophe.
*/

#ifndef STEADYREED_HISTORY_FILE_H
#define STEADYREED_HISTORY_FILE_H

#include <steadyreed/declarations.h>
#include <steadyreed/history.h>
#include <steadyreed/status.h>

#include <stddef.h>

SR_BEGIN_DECLARATIONS

/**
   Write all rounds to a file readable by its owner only, in order of time.

   @param path  Ends in .csv or .json, in any case.
   @param count Receives how many rounds; NULL if it is of no interest.
   @return SR_OK; SR_BAD_ARGUMENT (another ending); as sr_output_new() and sr_output_finish(), when
           an older file is unchanged; SR_BAD_SYNTAX (the history is damaged); SR_NO_MEMORY.
*/
SrStatus sr_history_export(SrHistory* history, const char* path, size_t* count, SrError* error);

/// What became of the rounds of a file.
typedef struct {
  size_t added;
  size_t known; ///< They were there already, and stay as they are
} SrImported;

/**
   Add the rounds of a file that sr_history_export() wrote: all of those not yet known, or none if
   anything in the file is wrong.

   @param path Ends in .csv or .json.
   @return SR_OK; SR_BAD_ARGUMENT; SR_NOT_FOUND; SR_NO_PERMISSION; SR_BAD_SYNTAX with the line;
           SR_TOO_LARGE (a round over 64 MiB); SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_history_import(SrHistory* history, const char* path, SrImported* imported,
                           SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_HISTORY_FILE_H
