// SPDX-License-Identifier: GPL-3.0-or-later

// State and parts of listening without a phrase.

#ifndef SR_LIVE_FREE_LISTENER_H
#define SR_LIVE_FREE_LISTENER_H

#include "history.h"
#include "window.h"

#include <steadyreed/free.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Number of reported notes that are remembered.
#define RECENT 512u

/// A reported note.
typedef struct {
  int midi;
  double onset_s;
  double end_s;
} Recent;

struct SrFreeImpl {
  double rate_hz;
  SrProfile* profile;
  SrCalibration* calibration;
  SrHistoryRing* history;
  SrWindow* window;
  uint64_t pushed;
  double learn_at_s;
  double wait_until_s; ///< No new estimate before this time
  int last_midi;       ///< Pitch of the last note reported
  double last_end_s;
  Recent recent[RECENT];
  size_t recent_next;
  bool learnt;          ///< The instrument was estimated at least once
  bool given;           ///< A profile was given
  unsigned times_moved; ///< Times in a row that the reference moved too far
  double unreported_s;  ///< Sounds that started earlier are reported, or never will be
  double air_reported_s;
  SrOpenSound open[SR_MOST_OPEN]; ///< At the last look
  size_t open_count;
  bool sounds;
  float* step;
  size_t step_size;
  size_t step_fill;
  SrFreeNote* notes;
  size_t note_count;
  size_t note_room;
  SrFreeAir* air;
  size_t air_count;
  size_t air_room;
};

// free_reporting.c

/// Whether a sound was reported, alone or as part of a note.
bool sr_free_is_reported(const SrFree* f, const SrEvent* sound);
/// Report the notes that ended before a time. Sounding notes are still considered for cuts, and
/// reported later.
bool sr_free_report_until(SrFree* f, double until_s);

#endif // SR_LIVE_FREE_LISTENER_H
