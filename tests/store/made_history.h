// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file made_history.h
   Phrases and judged rounds of which all figures are known, for tests of the history.
*/

#ifndef SR_TESTS_MADE_HISTORY_H
#define SR_TESTS_MADE_HISTORY_H

#include <steadyreed/history.h>

#include <stdbool.h>

/// Three bars of four crotchets, a cut before every second note of a bar; transposed up.
SrPhrase* made_phrase(const char* title, int transpose);

/// How a round went; all zero but the tempo is a round without a fault.
typedef struct {
  double bpm;
  unsigned joined; ///< Of the 6 cuts, from the first on
  unsigned missed; ///< Of the 12 notes, from the last on
  double spread_ms;
  double offset_ms; ///< NAN if unknown
  double alone_ms;  ///< Change while the click was silent; NAN for no silent stretch
  unsigned air;     ///< Notes that asked for air, from the first on
  unsigned heard;   ///< Of these, with audible air
} MadeRound;

/// An assessment with one such round; free it with made_assessment_del().
SrAssessment* made_assessment(const SrPhrase* phrase, const MadeRound* round);
void made_assessment_del(SrAssessment* assessment);

/// Add such a round at noon UTC of a day, `minute` minutes later; cmocka fails if it is not added.
/// `take` is a path, or NULL.
void made_round_add(SrHistory* history, const SrPhrase* phrase, const MadeRound* round, int day,
                    int minute, const char* take);

/// The same of a phrase from a file, with no take.
void made_round_add_of(SrHistory* history, const SrPhrase* phrase, const MadeRound* round, int day,
                       int minute, const char* file);

/// Run SQL on a database from outside; cmocka fails if SQLite refuses.
void made_sql(const char* path, const char* sql);
/// A whole number that SQL yields; -1 if it yields none.
long long made_sql_number(const char* path, const char* sql);
/// `PRAGMA integrity_check` says "ok", and no row refers to one that is not there.
bool made_sql_is_whole(const char* path);

#endif // SR_TESTS_MADE_HISTORY_H
