// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file past.h
   The last samples, kept so that a round can be heard again.
*/

#ifndef SR_LIVE_PAST_H
#define SR_LIVE_PAST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct SrPastImpl SrPast;

/// Keep up to `most` samples; memory grows to that as they come. NULL without memory.
SrPast* sr_past_new(size_t most);
/// Free; NULL does nothing.
void sr_past_del(SrPast* past);
/// Add samples; the oldest go. False without memory, then nothing was added.
bool sr_past_add(SrPast* past, const float* samples, size_t count);
/// Forget what is before a sample.
void sr_past_forget(SrPast* past, uint64_t before);
/// The first sample that is kept, and the first that has not come.
uint64_t sr_past_start(const SrPast* past);
uint64_t sr_past_end(const SrPast* past);
/// Samples in a row from `at` on, which must be kept; receives how many.
const float* sr_past_at(const SrPast* past, uint64_t at, size_t* count);

#endif // SR_LIVE_PAST_H
