// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file played.h
   Events of a phrase as a perfect ear would give them, to be changed by the tests.
*/

#ifndef TEST_PLAYED_H
#define TEST_PLAYED_H

#include <steadyreed/judge.h>

/// Most events of a test.
#define MOST_PLAYED 4096u

/// Events under construction.
typedef struct {
  size_t count;
  SrEvent events[MOST_PLAYED];
  size_t air_count;
  SrAirCarriage air_carriage;
  SrAirHeard air[16];
} Played;

/// Read ABC text; the test fails if it cannot be.
SrPhrase* played_phrase(const char* abc);
/// Add one sound.
SrEvent* played_add(Played* played, int midi, double onset_s, double end_s, double fall_db);
/// Add a written note, begun with its cut of 30 ms if it has one; `again` if the pitch sounded just
/// before.
void played_note(Played* played, const SrPhraseNote* note, double onset_s, double end_s,
                 bool again);
/**
   Add one clean round: each note legato, cuts of 30 ms before the notes that have one.

   @param zero_s When it begins.
   @param spw    Seconds of a whole note.
   @return When it ends.
*/
double played_round(Played* played, const SrPhrase* phrase, double zero_s, double spw);
/// Judge them; NULL with the status if they cannot be.
SrAssessment* played_judge(const Played* played, const SrPhrase* phrase, SrStatus* status);

/// What may go wrong with a note, one thing each.
typedef enum {
  PLAYED_MISSED,
  PLAYED_WRONG,
  PLAYED_TWICE,
  PLAYED_LATE,
  PLAYED_WAITED,
  PLAYED_JOINED,
  PLAYED_LONG_CUT,
  PLAYED_STOPPED,
  PLAYED_FAULTS
} PlayedFault;

/// A judged round with one fault at a note; NULL if it cannot be judged.
SrAssessment* played_with_fault(const SrPhrase* phrase, PlayedFault fault, size_t at);

#endif // TEST_PLAYED_H
