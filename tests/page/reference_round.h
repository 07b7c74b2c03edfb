// SPDX-License-Identifier: GPL-3.0-or-later

// A round to draw reference pictures of: every note, button and direction is fixed, so that the
// pictures do not change when plans are searched for or notes are judged in another way.

#ifndef REFERENCE_ROUND_H
#define REFERENCE_ROUND_H

#include "made_round.h"

#include <steadyreed/plan.h>
#include <steadyreed/round_picture.h>

#include <cairo.h>

#include <stdbool.h>

// Notes of the round, and what became of them.
#define REFERENCE_CLEAN_CUT 1 ///< A clean cut on a draw, with room around it
#define REFERENCE_PRESSED 3   ///< Nothing but right, on a press
#define REFERENCE_LONG 4      ///< A cut as long as a note
#define REFERENCE_JOINED 7    ///< Ran together with the note before
#define REFERENCE_WAIT 9      ///< Came after a wait
#define REFERENCE_AIR 11      ///< Audible air
#define REFERENCE_ABSENT 13   ///< A cut that was not heard
#define REFERENCE_MISSED 15   ///< Missed
#define REFERENCE_WRONG 17    ///< Another note
#define REFERENCE_EXTRA 20    ///< An extra note before it
#define REFERENCE_LATE 21     ///< 45 ms late
#define REFERENCE_STRAY 22    ///< A cut that is not written
#define REFERENCE_UNHEARD 23  ///< Lost by the recording

/// A round and its plan. Must not be moved.
typedef struct {
  MadeRound made; ///< Of three rounds; the first is the one with all faults
  SrInstrument* instrument;
  SrPlannedNote planned[MADE_MOST_NOTES];
  SrPlan plan; ///< Written by hand, not searched for
} ReferenceRound;

/// Make one. Ends the test with cmocka on error.
ReferenceRound* reference_round_new(void);
void reference_round_del(ReferenceRound* round);

/// Lay the first round out for REFERENCE_ROUND_WIDTH; all bars if `bar_count` is 0.
SrRoundPicture* reference_round_picture(const ReferenceRound* round, bool planned,
                                        const SrRoundStyle* style, size_t reached, size_t first_bar,
                                        size_t bar_count);
/// Width that it is laid out for, units of the context.
#define REFERENCE_ROUND_WIDTH 388.0

#endif // REFERENCE_ROUND_H
