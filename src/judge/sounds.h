// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file sounds.h
   What was heard, made ready to be aligned: what nobody hears is dropped, and what was
   heard in parts is joined.
*/

#ifndef SR_JUDGE_SOUNDS_H
#define SR_JUDGE_SOUNDS_H

#include <steadyreed/hear.h>
#include <steadyreed/phrase.h>

#include <stddef.h>

/// Sort events by onset, so that any order of them gives one result.
void sr_events_sort(SrEvent* events, size_t count);

/**
   Sort sounds and make them ready.

   @param phrase  What was to be played.
   @param sounds  SR_EVENT_SOUND only; changed.
   @param count   How many.
   @param air     Releases of air, under which a note may sag and seem to speak again.
   @param air_count How many.
   @param scratch `count` doubles.
   @return How many are left, sorted by onset.
*/
size_t sr_sounds_tidy(const SrPhrase* phrase, SrEvent* sounds, size_t count, const SrAirHeard* air,
                      size_t air_count, double* scratch);

#endif // SR_JUDGE_SOUNDS_H
