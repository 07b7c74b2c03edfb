// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file take_remarks.h
   What is worth saying about a recording, apart from what was played.
*/

#ifndef SR_SESSION_TAKE_REMARKS_H
#define SR_SESSION_TAKE_REMARKS_H

#include <steadyreed/audio.h>
#include <steadyreed/judged_take.h>
#include <steadyreed/losses.h>

/// Add a remark; dropped without memory.
void sr_take_remark(SrJudgedTake* take, const char* format, ...) SR_PRINTF(2, 3);
/// Add remarks about the recording: its end, level, rate, channels.
void sr_take_remark_reading(SrJudgedTake* take, const SrTakeReading* reading);
/// Add a remark if samples were lost while it was recorded.
void sr_take_remark_losses(SrJudgedTake* take, const SrLosses* losses, double rate_hz);
/// Refuse a recording that holds nothing to judge. SR_OK, SR_BAD_AUDIO or SR_NOTHING_HEARD.
SrStatus sr_take_check(const SrTakeReading* reading, SrError* error);
/// The error of a take for which memory was not enough; returns SR_NO_MEMORY.
SrStatus sr_take_no_memory(SrError* error);
/// The error of a recording that was cut off so early that its phrase is not recognised.
void sr_take_refuse_remains(const SrPhrase* phrase, double seconds, SrError* error);

#endif // SR_SESSION_TAKE_REMARKS_H
