// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file course.h
   Steps that many scenes have in common.
*/

#ifndef SR_TESTS_COURSE_H
#define SR_TESTS_COURSE_H

#include "sitting.h"
#include "tape.h"
#include "verdicts.h"

/// A machine that others use may be late; what did not arrive as it was played is played again.
#define TRIES 4

/// A take with silence about it, as a file of the test's folder: `before_s`, since what a player
/// gives first, PulseAudio mixes into a part of the monitor that may have been recorded already.
char* course_tape(const Sitting* sitting, const char* take, double before_s, Tape* tape);

/**
   Play a tape to a program that listens without a sound of its own, until it ends or `most_s` have
   passed behind the tape. Repeated if something was lost on the way.

   @param exact Whether to see that each sample has arrived, else only what the program tells.
   @return Its exit status.
*/
int course_play(Sitting* sitting, const char* phrase, const char* const* options, const char* path,
                const Tape* tape, bool exact, double most_s);

/// The kept take says to `assess` what was said at the end.
void course_check_kept(const Sitting* sitting, const char* phrase, const json_t* at_the_end);

/// Whether the program said that samples were lost.
bool course_has_lost(const Sitting* sitting);

/// A take made for the test: phrase, then NAME=VALUE… for make_take, NULL at the end. Its path;
/// free() it.
char* course_make_take(const Sitting* sitting, const char* phrase, const char* name,
                       const char* const* values);

/// A tune of two bars, and a tape of it without faults.
typedef struct {
  char* phrase;
  char* take; ///< One round
  char* path; ///< The tape
  Tape tape;
} Short;
#define SHORT_NOTES 10
/// One round of it, s: four pulses at 100 a minute.
#define SHORT_S 2.4
/// Make it, with rounds a second and a half apart.
Short short_tune(const Sitting* sitting, unsigned rounds);
void short_clear(Short* tune);

#endif // SR_TESTS_COURSE_H
