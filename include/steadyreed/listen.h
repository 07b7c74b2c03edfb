// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file listen.h
   Hearing and judging a whole take: calibrate to the instrument, hear the take with the resulting
   profile, judge what was heard. If it is unclear whether notes are doubled an octave below, both
   readings are heard and judged, and the one that explains the take better is kept. If some of the
   take came out wrong, the reading with accompaniment below the melody is tried in the same way.
*/

#ifndef STEADYREED_LISTEN_H
#define STEADYREED_LISTEN_H

#include <steadyreed/declarations.h>
#include <steadyreed/hear.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Source of a take's samples, which is read several times.
typedef struct {
  /**
     Read the next samples.

     @param from    As below.
     @param samples Receives up to `count` samples, mono, full scale 1; non-finite samples were
                    lost.
     @return Samples read; 0 at the end.
  */
  size_t (*read)(void* from, float* samples, size_t count);
  /// Return to the first sample. SR_OK or an error.
  SrStatus (*rewind)(void* from, SrError* error);
  void* from;
} SrTakeSource;

/// A take, heard and judged.
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
   @param loudest  Index of its loudest sample, for aligning windows; see sr_calibration_align_to().
   @param facts    About the recording; its rate is that of the samples.
   @param settings NULL for the defaults.
   @param listened Receives it; clear it also on error.
   @return As sr_judge_take(), or what sr_calibration_new() or `rewind` return.
*/
SrStatus sr_listen(const SrPhrase* phrase, const SrTakeSource* source, int64_t loudest,
                   const SrTakeFacts* facts, const SrJudgeSettings* settings, SrListened* listened,
                   SrError* error);
/// Free what it holds.
void sr_listened_clear(SrListened* listened);

/// Whether the pitches of a take leave its reading in doubt; `doubled_nats` from
/// sr_calibration_doubled_nats().
bool sr_listen_is_unsure(double doubled_nats);
/**
   Whether a take should be tried in the other reading as well before a verdict is final: its
   pitches do not clearly favour this reading, it was refused, or a tenth of it came out wrong.

   @param doubled_nats From sr_calibration_doubled_nats().
   @param reading      How it was read.
   @param assessment   The result; NULL if it was refused.
*/
bool sr_listen_is_doubtful(double doubled_nats, SrReading reading, const SrAssessment* assessment);

/**
   Whether the other reading of a take is the better one: it explains more of it, by a tenth of the
   notes if the pitches clearly favour the likely reading.

   @param other  Result of the other reading; NULL if it was refused.
   @param likely Result of the likely one; NULL likewise.
   @param doubled_nats From sr_calibration_doubled_nats().
*/
bool sr_listen_is_better(const SrAssessment* other, const SrAssessment* likely,
                         double doubled_nats);

/// Whether a take should also be tried with accompaniment before a verdict is final: it was refused
/// (NULL), or some of it came out wrong.
bool sr_listen_may_be_accompanied(const SrAssessment* assessment);
/**
   Whether the reading with accompaniment is the one to keep: more of the notes come out as written,
   by over a fortieth of all the notes asked for.

   @param assessment Result of the reading without accompaniment; NULL if it was refused.
   @param other      Result of the reading with accompaniment; not NULL.
*/
bool sr_listen_is_accompanied(const SrAssessment* assessment, const SrAssessment* other);

SR_END_DECLARATIONS

#endif // STEADYREED_LISTEN_H
