// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file verdicts.h
   What the program's JSON says, and whether two of them say the same.
*/

#ifndef SR_TESTS_VERDICTS_H
#define SR_TESTS_VERDICTS_H

#include <jansson.h>

#include <stdbool.h>
#include <stddef.h>

/// The assessments among the events that `practise --json` writes, in order, as an array.
json_t* verdicts_read(const char* text);
/// What `steadyreed assess PHRASE TAKE --json OPTIONS…` says; the options end in NULL, NULL for
/// none.
json_t* verdicts_assess(const char* phrase, const char* take, const char* const* options);

/// A round of an assessment.
json_t* verdicts_round(const json_t* assessment, size_t round);
/// Its rounds.
size_t verdicts_rounds(const json_t* assessment);
/// A number at a path such as "pulse.played_bpm"; NAN for null.
double verdicts_number(const json_t* object, const char* path);
/// How many notes of a round have this status.
size_t verdicts_count(const json_t* round, const char* status);

/// What two rounds that should be the same differ in.
typedef struct {
  size_t notes;        ///< Compared
  size_t different;    ///< Other status, pitch, joined, cut, or an onset in one only
  double shift_s;      ///< Median of the second one's onsets after the first one's
  double worst_ms;     ///< Farthest that an onset is from that
  double mean_ms;      ///< Mean distance from that
  double worst_cut_ms; ///< Most that the length of a cut differs
  size_t other_air;    ///< Releases of air in one only, or heard in one only
  size_t other_extra;  ///< Extra notes more, or fewer
} Difference;

/// Compare, and print each difference.
Difference verdicts_compare(const char* what, const json_t* one, const json_t* two);

#endif // SR_TESTS_VERDICTS_H
