// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file event_lines.h
   Events of a session as JSON, one object per line, so that any program can be a front end. Every
   object has "event" and "at_s" (seconds of input samples); the other keys depend on the event:

   - ready: format "steadyreed-events", version 1, input, output, rate_hz, bpm, recording
   - level: peak_dbfs, overdriven, idle
   - count-in: number, total
   - note: round, note (as in an assessment)
   - amended: round, note (a changed verdict)
   - again: none; the phrase was begun again, and this round's notes but its first are void
   - nothing: none; what was begun was not a round
   - round: round, click_unknown (when the player hears the click is unknown), assessment (this
     round)
   - signal: meaning (none, slower or end), held_s
   - playing: bpm (null for samples), kind (phrase or samples), length_s; played to the player
   - played: kind, outcome (whole, stopped or nothing); that is over, or could not be played
   - waiting: over, midi (of the ready note, in any octave; null for none), left_s (until the
     count-in begins by itself; null if it does not); the click waits, or does not any more
   - signal-held: held_s (0 once it is over), meaning (none, slower or end, short or play); the low
     note is being held, and what it means if released now
   - pitch: frequency_hz, midi, cents, reference_hz, level_dbfs; a note sounds
   - tempo: bpm
   - hush: granted (whether what follows this program may sound now; see SR_SESSION_HUSH)
   - dropout: samples, seconds (lost so far, rests included)
   - trouble: saving, message, file
   - stopped: reason (command, signal, rounds, silence or trouble), rounds, reference_hz
   - saved: path
   - ladder: first_bar, last_bar, bpm, clean (rounds in a row so far), moved (same, up, down, next,
     joined, apart or done), words (the same in a sentence); with --ladder, what to play next. Each
     stretch of bars is a session of its own, from ready to end
   - judged: assessment (the kept take, all its rounds)
   - end: none

   Absent values are null. Keys may be added, never changed.
*/

#ifndef SR_APP_EVENT_LINES_H
#define SR_APP_EVENT_LINES_H

#include <steadyreed/ladder.h>
#include <steadyreed/session.h>
#include <steadyreed/show.h>

#include <stdio.h>

void sr_event_line(FILE* stream, const SrPhrase* phrase, const SrSessionEvent* event);
/// Write that the kept take was judged.
void sr_event_line_judged(FILE* stream, const SrShownTake* take);

/// Write what a tempo ladder says to play next; `phrase` as for sr_ladder_words().
void sr_event_line_ladder(FILE* stream, const SrPhrase* phrase, const SrLadderRung* rung);

#endif // SR_APP_EVENT_LINES_H
