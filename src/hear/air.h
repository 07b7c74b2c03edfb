// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air.h
   Finds releases of air: smooth broadband noise, under a note or between two, above what the reeds
   and the room make by themselves.
*/

#ifndef SR_HEAR_AIR_H
#define SR_HEAR_AIR_H

#include "sound_finder.h"

typedef struct SrAirFinderImpl SrAirFinder;

/// Make one; NULL if out of memory. The profile must outlive it.
SrAirFinder* sr_air_finder_new(double rate_hz, const SrProfile* profile);
/// Free; NULL is allowed.
void sr_air_finder_del(SrAirFinder* finder);
/// Align the windows so that a sample, counted from the first one pushed, lies midway between the
/// starts of two; call before any push.
void sr_air_finder_place(SrAirFinder* finder, int64_t sample);
/// Decide on a window only when up to 4096 later ones are known (40 s to 2 minutes): by then the
/// noise of each reed and the course of the room's floor are known. Call before any push; false if
/// out of memory.
bool sr_air_finder_wait(SrAirFinder* finder);
/// Keep samples, at the input rate.
void sr_air_finder_push(SrAirFinder* finder, const float* samples, size_t count);
/// Process what the sounds found so far allow; whether a window is steady is known only later.
void sr_air_finder_do(SrAirFinder* finder, const SrSoundFinder* sounds);
/// End of the take.
void sr_air_finder_finish(SrAirFinder* finder, const SrSoundFinder* sounds);
/// Whether air can be detected in what was heard.
SrAirCarriage sr_air_finder_carriage(const SrAirFinder* finder);
/// Take the next release; false if there is none.
bool sr_air_finder_pull(SrAirFinder* finder, SrAirHeard* heard);

#endif // SR_HEAR_AIR_H
