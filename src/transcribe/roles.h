// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_ROLES_H
#define SR_TRANSCRIBE_ROLES_H

#include "heard_take.h"

/**
   Tell notes from graces.

   @param sounds Sorted by onset; changed.
   @param count  Number of sounds.
   @param played Receives the notes; NULL `notes` without memory.
*/
SrStatus sr_roles_tell(SrEvent* sounds, size_t count, bool doubled, SrPlayedNotes* played);

#endif // SR_TRANSCRIBE_ROLES_H
