// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file window.h
   A listener that starts anywhere in the stream, and what it has heard since a given time. Its
   times are those of the stream.
*/

#ifndef SR_LIVE_WINDOW_H
#define SR_LIVE_WINDOW_H

#include <steadyreed/hear.h>

#include <stdint.h>

/// A sound detected for longer than this, s, is not a flicker.
#define SR_SURE_SEEN_S 0.018

typedef struct SrWindowImpl SrWindow;

/**
   Start listening.

   @param start   Stream index of the first sample pushed.
   @param since_s Sounds that started earlier are left out.
*/
SrStatus sr_window_new(double rate_hz, const SrProfile* profile, const SrExpected* expected,
                       uint64_t start, double since_s, SrWindow** window, SrError* error);
/// Free; NULL is allowed.
void sr_window_del(SrWindow* window);
/// Align the frame grid to a sample of the stream, as sr_hear_place() does.
void sr_window_place(SrWindow* window, uint64_t sample);
/// Detect onsets earlier, as sr_hear_at_once() does.
void sr_window_at_once(SrWindow* window);
/// Report air later and more accurately, as sr_hear_air_later() does. SR_OK or SR_NO_MEMORY.
SrStatus sr_window_air_later(SrWindow* window);
/// Push samples. SR_OK or SR_NO_MEMORY.
SrStatus sr_window_push(SrWindow* window, const float* samples, size_t count);
/// End of the stream. SR_OK or SR_NO_MEMORY.
SrStatus sr_window_finish(SrWindow* window);
/// Leave out sounds that started before a time.
void sr_window_drop(SrWindow* window, double before_s);
/// Time processed, s.
double sr_window_heard_s(const SrWindow* window);
/// Number of sounds that have ended, those left out included.
uint64_t sr_window_ended(const SrWindow* window);
/**
   The sounds that are open now.

   @param open Receives up to SR_MOST_OPEN sounds.
*/
size_t sr_window_open(SrWindow* window, double least_seen_s, SrOpenSound* open);
/**
   All events, with open sounds extended as if they went on for a moment.

   @param open    From sr_window_open(); NULL for none.
   @param until_s Sounds that start at this time or later are left out, and air that starts after
                  the first of them or after the end of those that are kept; INFINITY for no limit.
   @param heard   Receives them; valid until the window is used again.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_window_heard(SrWindow* window, const SrOpenSound* open, size_t open_count,
                         double until_s, SrHeard* heard);

#endif // SR_LIVE_WINDOW_H
