// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file planned_note.h
   What is shown of one planned note: its octave, and whether another is played the same way.
*/

#ifndef STEADYREED_PLANNED_NOTE_H
#define STEADYREED_PLANNED_NOTE_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>
#include <steadyreed/plan.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// The octave of a note as it is spelt, 4 from middle C to the B above it: C♭5 sounds as B4.
int sr_planned_octave(const SrPhraseNote* note);
/// Whether two notes are under the same buttons and fingers in the same direction.
bool sr_planned_same(const SrPlannedNote* one, const SrPlannedNote* other);

SR_END_DECLARATIONS

#endif // STEADYREED_PLANNED_NOTE_H
