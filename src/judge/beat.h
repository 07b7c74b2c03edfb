// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file beat.h
   The parts of a round's fit to the beat (rhythm.h): the model, waits, turns of the tempo, and what
   is reported of it. The round is only read.
*/

#ifndef SR_JUDGE_BEAT_H
#define SR_JUDGE_BEAT_H

#include "rounds.h"
#include "tuning.h"
#include "turns.h"

/// Columns of the model: start, pulse, bend, places, waits, turns of the tempo.
#define SR_BEAT_FIXED 3u
#define SR_BEAT_FIRST_TURN (SR_BEAT_FIXED + SR_LILT_SIZE + MOST_WAITS)
#define SR_BEAT_COLUMNS (SR_BEAT_FIRST_TURN + SR_MOST_TURNS)

/// One onset of the fit.
typedef struct {
  size_t note;
  double pulses; ///< Place in the phrase
  double onset_s;
  double due_s;   ///< By the model, once it is reported
  double first_s; ///< Earliest time its beat may lie at
  double last_s;  ///< and the latest: with several graces before a note the player chooses
  size_t place;   ///< In the pulse
  size_t waits;   ///< Waits before it or at it
  double moved_s; ///< Sum of the waits that exceed the model's columns
  bool out;       ///< Left out of the fit
  double whole_s; ///< Seconds per pulse from here to the same place in a later pulse; NAN if none
  double usual_s; ///< The usual value around here; NAN if unknown
} SrBeatOnset;

/// The fit and what it found.
typedef struct {
  const SrTake* take;
  const SrRound* round;
  double pulse; ///< In whole notes
  size_t places;
  size_t place_count[SR_LILT_SIZE];
  SrBeatOnset* onsets;
  size_t count;
  size_t wait_count;
  SrTurn turns[SR_MOST_TURNS];
  size_t turn_count;
  bool drift; ///< There are enough onsets to fit one
  bool bends; ///< It is fitted
  double solution[SR_BEAT_COLUMNS];
  size_t determined; ///< Parameters of the solution that could be determined
  SrSlip* slips;     ///< Found, in order; room for SR_BEAT_MOST_SLIPS(onsets)
  size_t slip_count;
  SrPulse pulse_found;
} SrBeatFit;

/// Most slips of a fit: its beginning, a wait at each onset, and its turns.
#define SR_BEAT_MOST_SLIPS(onsets) ((onsets) + 3ul * SR_MOST_TURNS + 2ul)

/// Add a slip to those found.
void sr_beat_add_slip(SrBeatFit* fit, SrSlip slip);

// beat_model.c

/// Place of a note in its pulse, in pulses.
double sr_beat_place(const SrBeatFit* fit, const SrPhraseNote* note);
/// The fewest even divisions of the pulse that all notes lie on, 0 if more than SR_LILT_SIZE.
size_t sr_beat_find_places(const SrBeatFit* fit);
/// Time of an onset by the model, s.
double sr_beat_predicted(const SrBeatFit* fit, const SrBeatOnset* onset);
/// The model's rows and observations for the onsets that are not left out; returns their number.
size_t sr_beat_matrix(const SrBeatFit* fit, double* matrix, double* values, double* pulses);
/// Solve by least squares. False if out of memory.
bool sr_beat_solve(SrBeatFit* fit);
/// Move the beat of each note with several graces to its best fit; returns whether any moved enough
/// to matter.
bool sr_beat_place_graces(const SrBeatFit* fit);
/// Number of onsets that may be left out of the fit.
size_t sr_beat_most_out(const SrBeatFit* fit);
/// Leave out extreme outliers, so that one slip does not bend the fit. `scratch` has room for two
/// values per onset. Returns whether there were any.
bool sr_beat_leave_out(SrBeatFit* fit, double* scratch);
/// Seconds per pulse at a place; at a turn, those after it.
double sr_beat_slope(const SrBeatFit* fit, double pulses);
/// The just noticeable displacement, s.
double sr_beat_noticeable_s(const SrBeatFit* fit);
/// The onset nearest to a place.
size_t sr_beat_onset_near(const SrBeatFit* fit, double pulses);

// beat_waits.c

/// Set each onset's local seconds per pulse: the median of whole pulses, or of single steps if
/// there are too few. `scratch` has room for one value per onset.
void sr_beat_find_pulses(const SrBeatFit* fit, double* scratch);
/// Whether the player went back to a note; the time that took is no hesitation.
bool sr_beat_went_back(const SrRound* round, size_t note);
/// A round that begins with a later bar has left out what comes before.
void sr_beat_find_beginning(SrBeatFit* fit);
/// Find where the player waited, hurried or skipped ahead; each shifts all that follows. `scratch`
/// as for sr_beat_find_pulses().
void sr_beat_find_waits(SrBeatFit* fit, double* scratch);

// beat_turns.c

/// Fit the model to the onsets, with or without turns of the tempo. `scratch` as for
/// sr_beat_leave_out(). False if out of memory.
bool sr_beat_fit(SrBeatFit* fit, bool turning, double* scratch);
/**
   What looks like waits or hurries may be turns of the tempo, or both may occur, each with or
   without a drift. The reading that explains the round best is kept.

   @param slips Number of slips found before the waits.
   @return False if out of memory.
*/
bool sr_beat_try_turns(SrBeatFit* fit, size_t slips, double* scratch);

// beat_report.c

/// Due times of the onsets, and the pulse. `scratch` as for sr_beat_find_pulses().
void sr_beat_report(SrBeatFit* fit, double* scratch);
/// Due time of a note without an onset, s.
double sr_beat_due_s(const SrBeatFit* fit, size_t note);
/// Add the waits that were found with the turns, and the stretches at another tempo, to the slips.
void sr_beat_report_turns(SrBeatFit* fit);

#endif // SR_JUDGE_BEAT_H
