// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air_note.h
   What a release of air does to the note above it: it dips, and bends.
*/

#ifndef SR_HEAR_AIR_NOTE_H
#define SR_HEAR_AIR_NOTE_H

#include "air_run.h"

/**
   Dip and bend of the note during a release, relative to just before and after it.

   @param windows The last windows measured, in any order.
   @param count   Number of them.
   @param heard   The release, whose pitch and time are known; receives dip and bend.
*/
void sr_air_note_measure(const SrProfile* profile, const SrAirWindow* windows, size_t count,
                         SrAirHeard* heard);

#endif // SR_HEAR_AIR_NOTE_H
