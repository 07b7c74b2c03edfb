// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file take_outline.h
   How loud a recording is over its whole length, for a picture of it that is drawn at any scale:
   the peaks of short pieces, and of eight, sixty-four and more of these together. An hour takes
   3.3 MB.
*/

#ifndef STEADYREED_TAKE_OUTLINE_H
#define STEADYREED_TAKE_OUTLINE_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>

SR_BEGIN_DECLARATIONS

/// Pieces a second, about: a whole number of samples is one.
#define SR_TAKE_OUTLINE_PER_S 200.0

/// The outline of a recording. It does not change, so several threads may ask it.
typedef struct SrTakeOutlineImpl SrTakeOutline;

/**
   Read a recording to its end.

   @param path    As for sr_take_reader_new().
   @param stop    Asked about ten times a second of processor time; if it says true, the outline
                  ends there. NULL to read all.
   @param context Passed to `stop`.
   @param outline Receives it; free it with sr_take_outline_del(). NULL on error.
   @return SR_OK, as sr_take_reader_new(), or SR_BAD_AUDIO if it has no samples.
*/
SrStatus sr_take_outline_new(const char* path, bool (*stop)(void* context), void* context,
                             SrTakeOutline** outline, SrError* error);
/// Free; NULL does nothing.
void sr_take_outline_del(SrTakeOutline* outline);

/// Length of the recording, s; over 0.
double sr_take_outline_seconds(const SrTakeOutline* outline);

/**
   Largest absolute sample of a stretch, full scale 1: of all pieces that lie in it at least partly.
   Samples that are not finite do not count.

   @param from_s, to_s Times in the recording, s; what lies outside of it is 0.
*/
double sr_take_outline_peak(const SrTakeOutline* outline, double from_s, double to_s);

/**
   The middle of the quietest place near a time, if one is markedly quieter than what lies around
   it: where one cuts a recording without cutting into a note.

   @param at_s     s
   @param within_s How far it may be away, s, over 0.
   @return A time, s; `at_s` if there is no such place.
*/
double sr_take_outline_quiet(const SrTakeOutline* outline, double at_s, double within_s);

/**
   When the first sound begins: the first piece within 30 dB of the loudest one.

   @return A time, s; 0 for silence.
*/
double sr_take_outline_first_sound(const SrTakeOutline* outline);

SR_END_DECLARATIONS

#endif // STEADYREED_TAKE_OUTLINE_H
