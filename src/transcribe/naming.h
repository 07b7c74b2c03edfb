// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_NAMING_H
#define SR_TRANSCRIBE_NAMING_H

#include <steadyreed/transcribe.h>

/**
   Where the instrument's A is nearly half a semitone from 440 Hz, its notes may have either name:
   keep the one with which the tune is in a likelier key.

   @param asked_hz A4 as the player says; NAN to guess.
   @return Whether the names changed.
*/
bool sr_naming_settle(SrPlayedNotes* played, double asked_hz);

#endif // SR_TRANSCRIBE_NAMING_H
