// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file relisten.h
   Hears again what is kept of the stream, at once or a little at a time.
*/

#ifndef SR_LIVE_RELISTEN_H
#define SR_LIVE_RELISTEN_H

#include "past.h"
#include "window.h"

/// Zeroed, it hears nothing.
typedef struct {
  SrWindow* window; ///< NULL for none
  uint64_t at;      ///< The sample it hears next
} SrRelisten;

/**
   Begin.

   @param rate_hz Of the stream.
   @param from_s  Where in the stream to begin, s; later if that is no longer kept.
   @param since_s What began before this is left out, s.
   @return SR_OK or SR_NO_MEMORY; clear it in either case.
*/
SrStatus sr_relisten_begin(SrRelisten* relisten, const SrPast* past, double rate_hz,
                           const SrProfile* profile, const SrExpected* expected, double from_s,
                           double since_s, SrError* error);
/**
   Go on, as far as it can.

   @param most Samples to hear, at most.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_relisten_do(SrRelisten* relisten, const SrPast* past, uint64_t most);
/// Stop; it hears nothing then.
void sr_relisten_clear(SrRelisten* relisten);

#endif // SR_LIVE_RELISTEN_H
