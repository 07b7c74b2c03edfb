// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_arrival.h
   Delay of clicks by matched filter, with the evidence accumulated over clicks.
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
   @param lags    Delays from 0 to before this are tried.
   @param period  Samples from click to click.
   @return NULL if out of memory.
*/
SrClickArrival* sr_click_arrival_new(double rate_hz, const float* const sounds[2],
                                     const size_t counts[2], size_t lags, double period);
/// Free; NULL is allowed.
void sr_click_arrival_del(SrClickArrival* arrival);
/// Number of samples that sr_click_arrival_add() reads.
size_t sr_click_arrival_window(const SrClickArrival* arrival);
/// Number of these before the click is emitted.
size_t sr_click_arrival_lead(const SrClickArrival* arrival);
/// Forget all clicks.
void sr_click_arrival_reset(SrClickArrival* arrival);
/**
   Add the input around an emitted click.

   @param samples sr_click_arrival_window() of them, all finite.
   @param accent  Which sound it was.
   @param lag     Receives the best delay.
   @return Whether it is certain.
*/
bool sr_click_arrival_add(SrClickArrival* arrival, const float* samples, bool accent, double* lag);

#endif // SR_HEAR_CLICK_ARRIVAL_H
