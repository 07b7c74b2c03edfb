// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file recorded_date.h
   When a recording was made, as text in its file says it.
*/

#ifndef SR_AUDIO_RECORDED_DATE_H
#define SR_AUDIO_RECORDED_DATE_H

#include <steadyreed/audio.h>

/**
   Read a date as recorders write it, by ISO 8601: "2026-11-29", or with a time,
   "2026-11-29T18:05:30.000000Z", "2026-11-29 18:05", "2026-11-29T18:05:30+0100". Without a zone the
   time is local. A year alone is no date; before 2000 it is the clock of a recorder that was never
   set.

   @param text Any text; NULL is none.
   @return Its date; `known` is false if it is not one.
*/
SrRecordedDate sr_recorded_date_read(const char* text);

#endif // SR_AUDIO_RECORDED_DATE_H
