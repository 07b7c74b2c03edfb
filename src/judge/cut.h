// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file cut.h
   The verdict on one cut.
*/

#ifndef SR_JUDGE_CUT_H
#define SR_JUDGE_CUT_H

#include "rounds.h"

/// Shortest sound that is a note in its own right, s; such a note starts this far from its
/// neighbours too.
#define SR_OWN_NOTE_S 0.06

/**
   Judge the cut before a note, written or not, and whether the note is joined.

   @param take  The take.
   @param index The note.
   @param cut   The cut's sound; NULL if none was heard.
   @param sound The note's own sound; NULL if the previous one sounded through it.
   @param note  Receives `cut`, `has_cut`, `joined`; a joined note loses its onset.
*/
void sr_cut_judge(const SrTake* take, size_t index, const SrEvent* cut, const SrEvent* sound,
                  SrNoteVerdict* note);

/// Decide between clean and long once the end of the note is known; other verdicts stay.
void sr_cut_weigh(const SrJudgeSettings* settings, double end_s, SrNoteVerdict* note);

/**
   Duration of a cut until its note took over, ms.

   @param cut   The cut's sound.
   @param sound The note's own sound; NULL if the previous one sounded through it.
*/
double sr_cut_length_ms(const SrEvent* cut, const SrEvent* sound);

/// Whether a sound continues the previous sound of that pitch, which was never released.
bool sr_sound_held(const SrJudgeSettings* settings, const SrEvent* sound);

#endif // SR_JUDGE_CUT_H
