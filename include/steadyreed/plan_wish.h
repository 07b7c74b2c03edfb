// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file plan_wish.h
   How a player wants a phrase to be planned, in the player's own words: the names and texts that a
   command line or a window takes. The commands `plan`, `practise` and `assess` all plan from this.
*/

#ifndef STEADYREED_PLAN_WISH_H
#define STEADYREED_PLAN_WISH_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/phrase.h>
#include <steadyreed/plan.h>
#include <steadyreed/setup.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Most pins of one wish, and most cuts.
#define SR_MOST_WISHED 4096u

/**
   The wish; fill with sr_plan_wish_default(). It owns nothing: the texts must live as long as it.

   A note is named by its bar, as numbered in the music, and its number in that bar as written, from
   1; graces do not count. In a repeated bar it is the same note each time. So "2:3=L1-4" puts the
   third note of bar 2 on button L1-4.
*/
typedef struct {
  const char* layout; ///< As for sr_layout_read(); NULL for the default
  const char* style;  ///< A name of sr_plan_wish_style_name(), or a file; NULL for the default
  double open;        ///< Opening of the bellows at the start, share of full 0 to 1; NAN for half
  const char* const* pins; ///< "BAR:NOTE=BUTTON": the note is played on that button
  size_t pin_count;        ///< 0 to SR_MOST_WISHED
  const char* const* cuts; ///< "BAR:NOTE=BUTTON": its cut or strike is; "BAR:NOTE=written": it
                           ///< sounds as written, on whatever button
  size_t cut_count;        ///< 0 to SR_MOST_WISHED
} SrPlanWish;

/// Nothing wished: the default layout and style, bellows half open.
SrPlanWish sr_plan_wish_default(void);
/// Name of a shipped style, the default one first, such as "across"; NULL from SR_PLAN_STYLES on.
const char* sr_plan_wish_style_name(size_t index);

/// What a wish means for one phrase.
typedef struct {
  SrInstrument* instrument;
  SrPlanSettings settings; ///< One plan wanted; its pins belong to this
  SrPin* pins;
} SrWishedPlan;

/**
   Read a wish.

   @param wish   What is wished; NULL for nothing.
   @param setup  Whose bellows were measured; NULL for the usual ones.
   @param bpm    Pulses a minute, SR_SLOWEST_PLAN_BPM to 400; NAN for the phrase's own.
   @param phrase What is to be planned.
   @param wished Receives it; pass it to sr_wished_plan_clear(), also on error.
   @return SR_OK; SR_BAD_ARGUMENT if a pin or cut cannot be read, names what does not exist,
           contradicts another or contradicts "_press" or "_draw" in the phrase (the message names
           both); as sr_layout_read(); as sr_plan_style_read(); SR_TOO_LARGE or SR_NO_MEMORY.
*/
SrStatus sr_plan_wish_read(const SrPlanWish* wish, const SrSetup* setup, double bpm,
                           const SrPhrase* phrase, SrWishedPlan* wished, SrError* error);
/// Free what it holds.
void sr_wished_plan_clear(SrWishedPlan* wished);

/// Number of a note in its bar as written, from 1, as a wish names it.
int sr_plan_wish_note_number(const SrPhrase* phrase, size_t note);

SR_END_DECLARATIONS

#endif // STEADYREED_PLAN_WISH_H
