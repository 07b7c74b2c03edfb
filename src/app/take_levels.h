// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_TAKE_LEVELS_H
#define SR_APP_TAKE_LEVELS_H

#include <steadyreed/level_curve.h>

#include <stdbool.h>
#include <stddef.h>

/**
   Read the level of a take about some times.

   @param path     The recording; a pipe, which cannot be read again, has none.
   @param middle_s Times, s from its start, in any order.
   @param count    Their number.
   @param curves   Receives one for each, clear them; empty where nothing was read.
   @return Whether all have at least one window.
*/
bool sr_take_levels_read(const char* path, const double* middle_s, size_t count,
                         SrLevelCurve* curves);

#endif // SR_APP_TAKE_LEVELS_H
