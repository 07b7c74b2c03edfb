// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air.h
   Finds releases of air: smooth broad noise, under a note or between two, over what the
   reeds and the room make by themselves.
*/

#ifndef SR_HEAR_AIR_H
#define SR_HEAR_AIR_H

#include "sound.h"

typedef struct SrAirFinderImpl SrAirFinder;

/// Make one; NULL without memory. The profile must outlive it.
SrAirFinder* sr_air_finder_new(double rate_hz, const SrProfile* profile);
/// Free; NULL does nothing.
void sr_air_finder_del(SrAirFinder* finder);
/// Lay the windows so that a sample lies half way between the beginnings of two, counted from the
/// first one pushed; before anything is.
void sr_air_finder_place(SrAirFinder* finder, int64_t sample);
/// Decide on a window only when what follows is known, up to a minute or so: how noisy each reed
/// is, and where the room's floor goes. Before anything is pushed; false without memory.
bool sr_air_finder_wait(SrAirFinder* finder);
/// Keep samples, at the rate of the input.
void sr_air_finder_push(SrAirFinder* finder, const float* samples, size_t count);
/// Do what the sounds heard so far allow: which windows are steady is only known behind them.
void sr_air_finder_do(SrAirFinder* finder, const SrSoundFinder* sounds);
/// The take is over.
void sr_air_finder_finish(SrAirFinder* finder, const SrSoundFinder* sounds);
/// Whether what was heard lets air be told.
SrAirCarriage sr_air_finder_carriage(const SrAirFinder* finder);
/// Take the next release; false if there is none.
bool sr_air_finder_pull(SrAirFinder* finder, SrAirHeard* heard);

#endif // SR_HEAR_AIR_H
