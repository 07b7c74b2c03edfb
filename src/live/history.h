// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file history.h
   History ring: the last samples, kept so that a round can be heard again.
*/

#ifndef SR_LIVE_HISTORY_H
#define SR_LIVE_HISTORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct SrHistoryRingImpl SrHistoryRing;

/// A ring of up to `most` samples, allocated as needed. NULL if out of memory.
SrHistoryRing* sr_history_ring_new(size_t most);
/// Free; NULL is allowed.
void sr_history_ring_del(SrHistoryRing* history);
/// Add samples, overwriting the oldest. False if out of memory; nothing is added then.
bool sr_history_ring_add(SrHistoryRing* history, const float* samples, size_t count);
/// Forget everything before a sample.
void sr_history_ring_forget(SrHistoryRing* history, uint64_t before);
/// The first sample kept, and one past the last.
uint64_t sr_history_ring_start(const SrHistoryRing* history);
uint64_t sr_history_ring_end(const SrHistoryRing* history);
/// Contiguous samples from `at`, which must be in the ring; `count` receives their number.
const float* sr_history_ring_at(const SrHistoryRing* history, uint64_t at, size_t* count);

#endif // SR_LIVE_HISTORY_H
