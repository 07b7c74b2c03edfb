// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file past.h
   History ring: the last samples, kept so that a round can be heard again.
*/

#ifndef SR_LIVE_PAST_H
#define SR_LIVE_PAST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct SrPastImpl SrPast;

/// A ring of up to `most` samples, allocated as needed. NULL if out of memory.
SrPast* sr_past_new(size_t most);
/// Free; NULL is allowed.
void sr_past_del(SrPast* past);
/// Add samples, overwriting the oldest. False if out of memory; nothing is added then.
bool sr_past_add(SrPast* past, const float* samples, size_t count);
/// Forget everything before a sample.
void sr_past_forget(SrPast* past, uint64_t before);
/// The first sample kept, and one past the last.
uint64_t sr_past_start(const SrPast* past);
uint64_t sr_past_end(const SrPast* past);
/// Contiguous samples from `at`, which must be in the ring; `count` receives their number.
const float* sr_past_at(const SrPast* past, uint64_t at, size_t* count);

#endif // SR_LIVE_PAST_H
