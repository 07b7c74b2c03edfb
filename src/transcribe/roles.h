// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_ROLES_H
#define SR_TRANSCRIBE_ROLES_H

#include "heard_take.h"

/**
   Tell notes from graces.

   @param sounds Sorted by onset; changed.
   @param count  Number of sounds.
   @param played Its `doubled` says whether notes are doubled by their octave below. Receives the
                 notes; NULL `notes` without memory.
*/
SrStatus sr_roles_tell(SrEvent* sounds, size_t count, SrPlayedNotes* played);

#endif // SR_TRANSCRIBE_ROLES_H
