// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_PLAN_PITCH_NAME_H
#define SR_PLAN_PITCH_NAME_H

#include <stdbool.h>

/**
   Parse a pitch in scientific notation: a capital letter A to G, optionally a sharp (# or ♯) or a
   flat (b or ♭), and the octave, -1 to 9; C4 is middle C. An octave runs from C to B and belongs to
   the letter, so Cb4 is B3.

   @param name UTF-8, the whole of it.
   @param midi Receives the MIDI note number, -1 to 132.
   @return False if it is not such a name.
*/
bool sr_pitch_name_midi(const char* name, int* midi);

#endif // SR_PLAN_PITCH_NAME_H
