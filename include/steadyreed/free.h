// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file free.h
   Listening without a phrase: the notes played, with their cuts and air.
*/

#ifndef STEADYREED_FREE_H
#define STEADYREED_FREE_H

#include <steadyreed/declarations.h>
#include <steadyreed/hear.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// A note, reported when it is over.
typedef struct {
  double onset_s; ///< Start, including its cut
  double end_s;
  int midi;
  double cents; ///< Deviation from equal temperament on the estimated reference; NAN if too short
  double level_db; ///< dBFS, RMS
  double cut_ms;   ///< Length of the cut before or during the note; NAN without one
  int cut_midi;    ///< -1 without one
  bool held;       ///< The cut came during the note, which never stopped
  bool goes_on;    ///< It continues the note before, which dropped out or was masked by air for a
                   ///< moment
} SrFreeNote;

/// A release of air.
typedef struct {
  double start_s;
  double end_s;
  double level_db;     ///< Relative to the note; NAN without one
  double over_mask_db; ///< See mask.h; over 0 is audible
} SrFreeAir;

typedef struct SrFreeImpl SrFree;

/**
   Start listening.

   @param rate_hz As for sr_hear_new().
   @param profile Of the instrument, copied; NULL if unknown.
   @param free_listener Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_free_new(double rate_hz, const SrProfile* profile, SrFree** free_listener,
                     SrError* error);
/// Push samples, mono, full scale ±1. SR_OK or SR_NO_MEMORY.
SrStatus sr_free_push(SrFree* free_listener, const float* samples, size_t count, SrError* error);
/// End of input: sounding notes end here.
SrStatus sr_free_finish(SrFree* free_listener, SrError* error);
/// Take the next note; false if there is none.
bool sr_free_pull(SrFree* free_listener, SrFreeNote* note);
/// Take the next release of air; false if there is none.
bool sr_free_pull_air(SrFree* free_listener, SrFreeAir* air);
/// Whether a reed sounds.
bool sr_free_sounds(const SrFree* free_listener);
/**
   Learn the instrument from everything heard.

   @param profile Receives a new one; NULL on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_free_learn(SrFree* free_listener, SrProfile** profile, SrError* error);
/// Copy of the current estimate of the instrument; NULL without memory.
SrProfile* sr_free_profile(const SrFree* free_listener);
/// Free; NULL does nothing.
void sr_free_del(SrFree* free_listener);

SR_END_DECLARATIONS

#endif // STEADYREED_FREE_H
