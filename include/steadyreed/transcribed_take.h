// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transcribed_take.h
   A recording, or a stretch of one, read, heard and written down.
*/

#ifndef STEADYREED_TRANSCRIBED_TAKE_H
#define STEADYREED_TRANSCRIBED_TAKE_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>
#include <steadyreed/transcribe.h>

SR_BEGIN_DECLARATIONS

/**
   Read and hear a recording, and lay out what was played as a score. A metronome's click in it is
   removed before listening, and gives the beat if the notes fit it.

   @param path   The recording; "-" for standard input.
   @param from_s Where the stretch begins, s, 0 or more.
   @param to_s   Where it ends, s, over `from_s`; INFINITY for the end of the recording.
   @param wish   As for sr_score_make(); its click is not used.
   @param octaves As for sr_played_notes_make().
   @param find_click Look for a metronome's click.
   @param score  Receives it; free it with sr_score_clear(). Empty on error. Its times are those of
                 the recording.
   @return As sr_take_reader_new() and sr_score_make(); SR_NOT_FOUND if the recording ends before
           `from_s`.
*/
SrStatus sr_transcribed_take_make(const char* path, double from_s, double to_s,
                                  const SrScoreWish* wish, SrOctaves octaves, bool find_click,
                                  SrScore* score, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_TRANSCRIBED_TAKE_H
