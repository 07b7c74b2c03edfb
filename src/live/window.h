// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file window.h
   An ear that began to listen somewhere in the stream, and what it has heard since a
   moment. Its times are those of the stream.
*/

#ifndef SR_LIVE_WINDOW_H
#define SR_LIVE_WINDOW_H

#include <steadyreed/hear.h>

#include <stdint.h>

/// A sound that has been noticed for longer than this, s, is no flicker.
#define SR_SURE_SEEN_S 0.018

typedef struct SrWindowImpl SrWindow;

/**
   Begin to listen.

   @param start    Sample of the stream that is pushed first.
   @param since_s  What began before this is left out.
*/
SrStatus sr_window_new(double rate_hz, const SrProfile* profile, const SrExpected* expected,
                       uint64_t start, double since_s, SrWindow** window, SrError* error);
/// Free; NULL does nothing.
void sr_window_del(SrWindow* window);
/// Lay the frames by a sample of the stream, as sr_hear_place() does.
void sr_window_place(SrWindow* window, uint64_t sample);
/// Notice what starts sooner, as sr_hear_at_once() does.
void sr_window_at_once(SrWindow* window);
/// Tell air later and better, as sr_hear_air_later() does. SR_OK or SR_NO_MEMORY.
SrStatus sr_window_air_later(SrWindow* window);
/// Listen on. SR_OK or SR_NO_MEMORY.
SrStatus sr_window_push(SrWindow* window, const float* samples, size_t count);
/// The stream is over. SR_OK or SR_NO_MEMORY.
SrStatus sr_window_finish(SrWindow* window);
/// Leave out what began before a time.
void sr_window_drop(SrWindow* window, double before_s);
/// How far has been listened, s.
double sr_window_heard_s(const SrWindow* window);
/// Sounds that are over so far, ever.
uint64_t sr_window_ended(const SrWindow* window);
/**
   Look at what sounds now.

   @param open Receives up to SR_MOST_OPEN sounds.
*/
size_t sr_window_open(SrWindow* window, double least_seen_s, SrOpenSound* open);
/**
   All that was heard, and what sounds now as if it went on for a moment.

   @param open  As sr_window_open() told; NULL for none.
   @param until_s Sounds that began at this time or later are left out, and air that begins behind
   the first of them or the end of those that are kept; INFINITY for nothing.
   @param heard Receives it; valid until the window is used again.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_window_heard(SrWindow* window, const SrOpenSound* open, size_t open_count,
                         double until_s, SrHeard* heard);

#endif // SR_LIVE_WINDOW_H
