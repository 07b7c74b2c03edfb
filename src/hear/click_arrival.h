// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_arrival.h
   Finds how late clicks arrive, by matched filter, summed up over the clicks so far.
*/

#ifndef SR_HEAR_CLICK_ARRIVAL_H
#define SR_HEAR_CLICK_ARRIVAL_H

#include <stdbool.h>
#include <stddef.h>

typedef struct SrClickArrivalImpl SrClickArrival;

/**
   Make one.

   @param rate_hz Sample rate.
   @param sounds  Plain and accented sound.
   @param counts  Their samples.
   @param lags    Delays that are tried: 0 to before this.
   @param period  Samples from click to click.
   @return NULL without memory.
*/
SrClickArrival* sr_click_arrival_new(double rate_hz, const float* const sounds[2],
                                     const size_t counts[2], size_t lags, double period);
/// Free; NULL does nothing.
void sr_click_arrival_del(SrClickArrival* arrival);
/// Samples that sr_click_arrival_add() looks at,
size_t sr_click_arrival_window(const SrClickArrival* arrival);
/// of which so many are before the click leaves.
size_t sr_click_arrival_lead(const SrClickArrival* arrival);
/// Forget all clicks.
void sr_click_arrival_reset(SrClickArrival* arrival);
/**
   Add what came in when a click had left.

   @param samples sr_click_arrival_window() of them, all finite.
   @param accent  Which sound it was.
   @param lag     Receives the delay, if it is found.
   @return Whether it is found beyond doubt.
*/
bool sr_click_arrival_add(SrClickArrival* arrival, const float* samples, bool accent, double* lag);

#endif // SR_HEAR_CLICK_ARRIVAL_H
