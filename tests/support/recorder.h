// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file recorder.h
   What becomes of a finished take on its way through reeds, rooms and recorders that add noise
   or take it away, none of it air.
*/

#ifndef TEST_RECORDER_H
#define TEST_RECORDER_H

#include "take_maker.h"

/**
   Give each reed a hiss of its own under its notes.

   @param level_db Against the note, mean over the reeds; each lies within 4 dB of it and has
                   a colour of its own.
*/
void recorder_hiss(Take* take, double level_db, Random* random);

/// Add breath or bellows noise that swells and sinks with each note, at its most as in
/// hiss_add(), dB against the note.
void recorder_breath(Take* take, double level_db, Random* random);

/**
   Let the room's noise step up and stay up, by pink noise: a fan switched on.

   @param level_db dBFS.
   @param in_round In the midst of the second round, else between the first two.
*/
void recorder_step(Take* take, double level_db, bool in_round, Random* random);

/// A noise gate: exact zeros where nothing is over a level in dBFS.
void recorder_gate(Take* take, double level_db);

/// Exact zeros before the first round and between rounds, as where a recorder was muted.
void recorder_mute(Take* take);

/// Automatic gain control as phones have it: fast down, slowly up, so that the room's noise
/// comes up in a pause.
void recorder_gain_control(Take* take);

/// Cut off all above a frequency, as calls do, and write with 16 bits.
void recorder_narrow(Take* take, double top_hz, Random* random);

/// Code as Opus and decode again, by FFmpeg. `speech` tunes it for voices, as messengers do. False
/// without it.
bool recorder_opus(Take* take, unsigned kbit_s, bool speech);

#endif // TEST_RECORDER_H
