// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file listen.h
   A whole take, heard and judged: the instrument is learnt, the take is heard with what was
   learnt, and what was heard is judged. Where it is in doubt whether notes are doubled an octave
   below, both readings are heard and judged, and the one that explains the take better is kept; so
   is one with others below the melody, where some of the take came out wrong.
*/

#ifndef STEADYREED_LISTEN_H
#define STEADYREED_LISTEN_H

#include <steadyreed/hear.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Where a take's samples come from: it is read several times.
typedef struct {
  /**
     Read on.

     @param from    As below.
     @param samples Receives up to `count` samples, mono, full scale 1; what is not finite was lost.
     @return How many; 0 at the end.
  */
  size_t (*read)(void* from, float* samples, size_t count);
  /// Go back to the first sample. SR_OK or what is wrong.
  SrStatus (*rewind)(void* from, SrError* error);
  void* from;
} SrTakeSource;

/// A take as it was heard and judged.
typedef struct {
  SrEvent* events;
  size_t event_count;
  SrAirHeard* air;
  size_t air_count;
  SrAirCarriage air_carriage;
  SrAssessment* assessment;
} SrListened;

/**
   Hear a take and judge it.

   @param phrase   What was to be played.
   @param source   The take, at its first sample.
   @param loudest  Its loudest sample, by which windows are laid; see sr_survey_place().
   @param facts    About the recording; its rate is that of the samples.
   @param settings NULL for the defaults.
   @param listened Receives it; clear it also on error.
   @return As sr_judge_take(), or what sr_survey_new() or `rewind` return.
*/
SrStatus sr_listen(const SrPhrase* phrase, const SrTakeSource* source, int64_t loudest,
                   const SrTakeFacts* facts, const SrJudgeSettings* settings, SrListened* listened,
                   SrError* error);
/// Free what it holds.
void sr_listened_clear(SrListened* listened);

/// Whether the pitches of a take do not speak for one reading beyond doubt; `doubled_nats` as
/// sr_survey_doubled_nats() tells.
bool sr_listen_is_unsure(double doubled_nats);
/**
   Whether a take should be read in the other way as well before a verdict stands: its pitches do
   not speak for this reading beyond doubt, it was refused, or a tenth of it came out wrong.

   @param doubled_nats As sr_survey_doubled_nats() tells.
   @param reading      How it was read.
   @param assessment   What came of it; NULL if it was refused.
*/
bool sr_listen_is_doubtful(double doubled_nats, SrReading reading, const SrAssessment* assessment);

/**
   Whether the other reading of a take is the better one: it explains more of it, by a tenth of the
   notes where the pitches speak for the likely reading beyond doubt.

   @param other  What came of it in the other reading; NULL if it was refused.
   @param likely … and in the likely one; NULL likewise.
   @param doubled_nats As sr_survey_doubled_nats() tells.
*/
bool sr_listen_is_better(const SrAssessment* other, const SrAssessment* likely,
                         double doubled_nats);

/// Whether a take should be read with others below the melody as well before a verdict stands: it
/// was refused (NULL), or some of it came out wrong.
bool sr_listen_may_be_accompanied(const SrAssessment* assessment);
/**
   Whether the reading with others below the melody is the one to keep: of all notes asked for, a
   fortieth more come out as written.

   @param assessment Of the other reading; NULL if that was refused.
   @param other      Of this one; not NULL.
*/
bool sr_listen_is_accompanied(const SrAssessment* assessment, const SrAssessment* other);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_LISTEN_H
