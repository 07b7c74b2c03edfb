// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file score.h
   What was heard against the truth.
*/

#ifndef TEST_SCORE_H
#define TEST_SCORE_H

#include "heard.h"

/// Onsets that match lie within this, s.
#define TOLERANCE_S 0.025
/// Most onset errors that are kept.
#define MOST_ERRORS 20000u

/// Figures of many takes.
typedef struct {
  size_t takes;
  size_t refused;
  size_t rounds;
  size_t rounds_lost;
  size_t onsets; ///< In truth
  size_t matched;
  size_t false_onsets; ///< Notes and extra notes of the assessment that match none
  double* errors_ms;   ///< Heard minus true
  size_t error_count;
  size_t cuts;
  size_t cuts_right;
  size_t confusion[5][6]; ///< True verdict, heard verdict; the last column is none
  size_t quiet_swaps;     ///< Joined called clean or clean called joined, floor under -50 dBFS
  double length_error_ms; ///< Sum of magnitudes
  size_t lengths;
  size_t notes;
  size_t notes_right;
  size_t wrong;       ///< Notes reported as wrong that were
  size_t wrong_named; ///< … with the pitch that was played
  size_t ghosts;      ///< Notes judged or listed in pauses
  double worst_reference_cents;
  double worst_spread_ms;
  double spread_error_sum_ms;
  size_t spreads;
} Figures;

/// Make zeroed figures.
Figures* figures_new(void);
/// Free.
void figures_del(Figures* figures);
/// Add one take; prints a line for each thing gone wrong if `verbose`.
void figures_add(Figures* figures, const SrPhrase* phrase, const TakePlan* plan, const Take* take,
                 const HeardTake* heard, bool verbose);
/// F measure of onsets.
double figures_f(const Figures* figures);
/// Mean of the onset errors.
double figures_bias_ms(const Figures* figures);
/// Mean magnitude of the onset errors once their mean is taken off.
double figures_deviation_ms(const Figures* figures);
/// Mean magnitude of how far the spread reported of a round is off the true one.
double figures_spread_error_ms(const Figures* figures);
/// Print all.
void figures_print(const Figures* figures, const char* title);

#endif // TEST_SCORE_H
