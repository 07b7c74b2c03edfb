// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_MADE_TAKE_H
#define SR_TESTS_MADE_TAKE_H

#include <stddef.h>

/// A take in memory, mono.
typedef struct {
  float* samples;
  size_t count;
  int rate_hz;
} MadeTake;

/// ABC of the phrase that made_take() plays: four bars of 6/8 with cuts.
extern const char made_phrase[];
/// Its notes and cuts, counted by hand.
#define MADE_NOTES 22
#define MADE_CUTS 6
/// ABC of quite another tune.
extern const char other_phrase[];

/// Render an ABC text in the program's own reed voice. Ends the test with cmocka on error.
MadeTake made_take(const char* abc, double rate_hz, unsigned rounds);

/// Write a take in a format of libsndfile (SF_FORMAT_…), the same samples in each channel.
void made_take_write(const MadeTake* take, const char* path, int format, int channels);

/// Free its samples.
void made_take_clear(MadeTake* take);

/// Write a text to a file.
void file_write(const char* path, const void* bytes, size_t size);
/// Copy the first `share` of a file.
void file_cut_off(const char* from, const char* to, double share);

#endif // SR_TESTS_MADE_TAKE_H
