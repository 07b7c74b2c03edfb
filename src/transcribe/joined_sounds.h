// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file joined_sounds.h
   Sounds that were heard in parts.
*/

#ifndef SR_TRANSCRIBE_JOINED_SOUNDS_H
#define SR_TRANSCRIBE_JOINED_SOUNDS_H

#include <steadyreed/hear.h>
#include <steadyreed/transcribe.h>

#include <stddef.h>

/// Give sounds in octaves the pitch that a draft has at their time, where it has another octave of
/// it: heard for all pitches, a pair of reeds is told by its lower one, but once both octaves are
/// listened for, the one may be taken for the other.
void sr_sounds_settle_octaves(SrEvent* sounds, size_t count, const SrPlayedNotes* draft);
/// Take sounds an octave apart for one pair of reeds, whose common harmonics beat: all get the
/// pitch of the one that was heard longer. Sorted by onset before and after.
void sr_sounds_join_octaves(SrEvent* sounds, size_t count);
/// Join sounds of a pitch that overlap, or never fell silent between, with no grace between them.
/// Sorted by onset before and after. Gives the number left.
size_t sr_sounds_join_held(SrEvent* sounds, size_t count);

#endif // SR_TRANSCRIBE_JOINED_SOUNDS_H
