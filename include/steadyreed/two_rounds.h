// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file two_rounds.h
   Two judged rounds of one phrase, drawn one above the other as in round_picture.h: the first
   ("1st") over the second ("2nd") in each line of bars. Both are laid out by what is written, so
   that a note of one stands exactly under that of the other, whatever tempo each was played at, and
   their offsets have one scale.
*/

#ifndef STEADYREED_TWO_ROUNDS_H
#define STEADYREED_TWO_ROUNDS_H

#include <steadyreed/declarations.h>
#include <steadyreed/round_picture.h>
#include <steadyreed/status.h>

#include <cairo.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Two rounds laid out for one size. Not shared between threads.
typedef struct SrTwoRoundsImpl SrTwoRounds;

/**
   Lay two rounds out.

   @param pictured The first and the second; the same bars of the same phrase, in one key or two.
   @param style    NULL for all zero.
   @param width    SR_ROUND_LEAST_WIDTH or more, units of the context.
   @param height   Room for both, in the same units, over 0; INFINITY for as tall as is good to
   read.
   @param rounds   Receives them; free with sr_two_rounds_del(). NULL on error.
   @return As sr_round_picture_new(); SR_BAD_ARGUMENT also if the two are not of the same notes.
*/
SrStatus sr_two_rounds_new(const SrPicturedRound pictured[2], const SrRoundStyle* style,
                           double width, double height, SrTwoRounds** rounds, SrError* error);
/// Height they take, units of the context.
double sr_two_rounds_height(const SrTwoRounds* rounds);
/**
   Draw them.

   @param left, top Their upper left corner, units of the context.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_two_rounds_draw(const SrTwoRounds* rounds, cairo_t* cairo, double left, double top);
/**
   Where a bar of one of them lies, with its number and offsets. A bar on two lines is where it
   begins.

   @param which 0 for the first, 1 for the second.
   @param bar   An index of sr_phrase_bar().
   @param box   Receives it, from the corner of the picture; untouched if the bar is not drawn.
   @return Whether it is drawn.
*/
bool sr_two_rounds_bar(const SrTwoRounds* rounds, size_t which, size_t bar, SrRoundBox* box);
/**
   The bar at a point, or the nearest.

   @param x, y From the corner of the picture.
   @return An index of sr_phrase_bar().
*/
size_t sr_two_rounds_bar_at(const SrTwoRounds* rounds, double x, double y);
/// Free; NULL does nothing.
void sr_two_rounds_del(SrTwoRounds* rounds);

SR_END_DECLARATIONS

#endif // STEADYREED_TWO_ROUNDS_H
