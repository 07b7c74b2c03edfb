// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file relisten.h
   Hears the history again, at once or a little at a time.
*/

#ifndef SR_LIVE_RELISTEN_H
#define SR_LIVE_RELISTEN_H

#include "history.h"
#include "window.h"

/// Zero-initialise; then it is idle.
typedef struct {
  SrWindow* window; ///< NULL if idle
  uint64_t at;      ///< The next sample to hear
} SrRelisten;

/**
   Start.

   @param rate_hz Of the stream.
   @param from_s  Where to start in the stream, s; later if that is no longer kept.
   @param since_s Sounds that started earlier are left out, s.
   @return SR_OK or SR_NO_MEMORY; clear it in either case.
*/
SrStatus sr_relisten_begin(SrRelisten* relisten, const SrHistoryRing* history, double rate_hz,
                           const SrProfile* profile, const SrExpected* expected, double from_s,
                           double since_s, SrError* error);
/**
   Continue, as far as samples are available.

   @param most Most samples to hear.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_relisten_do(SrRelisten* relisten, const SrHistoryRing* history, uint64_t most);
/// Stop; it is idle then.
void sr_relisten_clear(SrRelisten* relisten);

#endif // SR_LIVE_RELISTEN_H
