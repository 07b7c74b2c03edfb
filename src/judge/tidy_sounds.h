// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tidy_sounds.h
   Clean-up before alignment: inaudible sounds are dropped, fragments are joined.
*/

#ifndef SR_JUDGE_TIDY_SOUNDS_H
#define SR_JUDGE_TIDY_SOUNDS_H

#include <steadyreed/hear.h>
#include <steadyreed/phrase.h>

#include <stddef.h>

/// Sort events by onset, then by pitch and end, so that the input order does not matter.
void sr_events_sort(SrEvent* events, size_t count);

/**
   Sort and clean up sounds.

   @param phrase    What was to be played.
   @param sounds    SR_EVENT_SOUND only; modified.
   @param count     Number of them.
   @param air       Air releases, under which a note may sag and seem to re-attack.
   @param air_count Number of them.
   @param scratch   `count` doubles.
   @return Number left, sorted by onset.
*/
size_t sr_sounds_tidy(const SrPhrase* phrase, SrEvent* sounds, size_t count, const SrAirHeard* air,
                      size_t air_count, double* scratch);

#endif // SR_JUDGE_TIDY_SOUNDS_H
