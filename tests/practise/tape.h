// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tape.h
   What is played to the program, put together from silence, takes and single notes, and whether
   it is what arrived.
*/

#ifndef SR_TESTS_TAPE_H
#define SR_TESTS_TAPE_H

#include <stdbool.h>
#include <stddef.h>

/// Mono, full scale ±1.
typedef struct {
  float* samples;
  size_t count;
  int rate_hz;
} Tape;

/// Put silence behind it.
void tape_silence(Tape* tape, double seconds);
/// Put part of a file behind it; the rate must be the tape's own. `to_s` may be INFINITY.
void tape_file(Tape* tape, const char* path, double from_s, double to_s);
/// Put a note alone behind it, in the program's own reed voice. `folder` is for its files.
void tape_note(Tape* tape, const char* folder, const char* abc_note, double seconds);
/// Read a file of any rate.
Tape tape_read(const char* path);
/// Write it as WAV of 16 bits.
void tape_write(const Tape* tape, const char* path);
/// Free its samples.
void tape_clear(Tape* tape);

/**
   Where a tape lies in what was heard of it.

   @param from, to Stretch of the tape that is looked for, in samples.
   @param shift    Receives by how many samples it is later there; unchanged if it is not there to
                   the last bit but one of 16.
*/
bool tape_find(const Tape* tape, size_t from, size_t to, const Tape* heard, long* shift);

#endif // SR_TESTS_TAPE_H
