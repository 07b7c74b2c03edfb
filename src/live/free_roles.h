// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file free_roles.h
   What a sound is to the sounds around it, without a phrase: the cut of a note, a flicker beside
   one, or an octave or chord under one.
*/

#ifndef SR_LIVE_FREE_ROLES_H
#define SR_LIVE_FREE_ROLES_H

#include <steadyreed/hear.h>

#include <stdbool.h>
#include <stddef.h>

/// Length of a sound, s.
static inline double
sr_event_length_s(const SrEvent* const event)
{
  return event->end_s - event->onset_s;
}

/// Whether a sound lies under another: an octave or chord of the left hand, or its shadow.
bool sr_free_is_under(const SrEvent* sounds, size_t count, size_t index);
/// Whether a short sound is only a flicker beside a longer and much louder one.
bool sr_free_is_flicker(const SrEvent* sounds, size_t count, const SrEvent* sound);
/// The cut at the start of a note, otherwise one within it; the longest, since flickers beside it
/// are shorter. `count` if none.
size_t sr_free_cut_of(const SrEvent* sounds, size_t count, size_t index, bool* held);
/// Whether a sound is the cut of another.
bool sr_free_is_cut(const SrEvent* sounds, size_t count, size_t index);

#endif // SR_LIVE_FREE_ROLES_H
