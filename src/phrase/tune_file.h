// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tune_file.h
   A text of several tunes: which one, and its lines.
*/

#ifndef SR_PHRASE_TUNE_FILE_H
#define SR_PHRASE_TUNE_FILE_H

#include "tune.h"

/// Read a tune file; free() the text.
SrStatus sr_tune_file_read(const char* path, char** text, size_t* size, SrError* error);
/// Parse the number of an X: line; false if the line is not one.
bool sr_line_is_tune_start(const SrLine* line, int* number);
/// Read the fields before the first tune, which apply to all tunes.
SrStatus sr_file_header_read(SrTuneReader* reader, const char* text, size_t size);
/// Find a tune by title or number, or the first one, and read it.
SrStatus sr_tune_read(SrTuneReader* reader, const char* text, size_t size,
                      const SrPhraseChoice* choice);
/// Read a tune of a text, with what applies to all of its tunes. free() its notes and bars, also on
/// error.
SrStatus sr_tune_from_text(const char* text, size_t size, const char* name,
                           const SrPhraseChoice* choice, SrTune* tune, SrError* error);

#endif // SR_PHRASE_TUNE_FILE_H
