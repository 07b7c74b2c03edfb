// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_BENCH_H
#define SR_TESTS_BENCH_H

#include <stddef.h>

/**
   Write the take that all benchmarks hear: the shipped jig, round after round
   over the noise of a room, cut at `seconds`; WAV, mono, 16 bits, 44100 samples a second. In small
   pieces, so that this process stays small. Ends the benchmark with status 1 if it cannot.

   @param phrase_path The jig.
*/
void bench_write_take(const char* phrase_path, const char* take_path, double seconds);

/// Median of values, which are sorted.
double bench_median(double* values, size_t count);

/// Say that a benchmark could not be run, and end it with status 1.
void bench_give_up(const char* why);

/// Seconds of a steady clock.
double bench_now_s(void);

/// "target met" or "target not met".
const char* bench_verdict(int met);

#endif // SR_TESTS_BENCH_H
