// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click.h
   The metronome's click in the microphone: found by matched filter and removed before anything is
   judged. Samples in, samples out.

   The delay from output to microphone is searched for in the 0.6 s after each click. Once it is
   found, the response of loudspeaker and room is estimated from one click and verified on the next.
   From then on each click is predicted and subtracted as it arrives. So the first two clicks of a
   count-in (more if they are less than a third of a second apart or barely audible) are left in:
   nobody plays there, and nothing is changed before the clicks are certain.
   sr_click_remover_rewind() removes those as well when a recording is processed a second time.
*/

#ifndef STEADYREED_CLICK_H
#define STEADYREED_CLICK_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Longest round trip from output to microphone, both devices included, s.
#define SR_MOST_ROUND_TRIP_S 0.6

/// The clicks in the samples, as far as known. Arrays are copied.
typedef struct {
  double rate_hz;     ///< 16000 to 192000
  const float* plain; ///< Sound of a click, at most 60 ms; any scale, but the same for both sounds
  size_t plain_count;
  const float* accent; ///< Sound of an accented click
  size_t accent_count;
  double period; ///< Samples from click to click, at least 0.1 s; a whole number if clicks start on
                 ///< whole samples
  unsigned bar_clicks; ///< One click in this many is accented; 0 for none
  unsigned on_bars;    ///< Bars that sound, starting after the count-in,
  unsigned off_bars;   ///< then bars that are silent; 0 for never silent
  unsigned count_in;   ///< Clicks at the start that always sound and are not counted as bars
  double began;        ///< Sample at which the first click was output, before the round trip
} SrClickSetting;

typedef struct SrClickRemoverImpl SrClickRemover;

/**
   Create a click remover.

   @param setting The clicks to expect.
   @param remover Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_click_remover_new(const SrClickSetting* setting, SrClickRemover** remover,
                              SrError* error);
/// Free; NULL does nothing.
void sr_click_remover_del(SrClickRemover* remover);
/**
   Process samples in place, without delay. Non-finite samples pass unchanged. The result does not
   depend on the chunk size.

   @param samples Input, replaced by the output.
*/
void sr_click_remover_do(SrClickRemover* remover, float* samples, size_t count);

/**
   Start again at the first sample but keep the learnt response: for a second pass over a recording,
   in which the first clicks are removed too.
*/
void sr_click_remover_rewind(SrClickRemover* remover);

/// What is known of the clicks' path from output to microphone.
typedef struct {
  bool heard;        ///< Whether the clicks reach the microphone at all
  double round_trip; ///< Round trip, samples; NAN if not heard
  double spread;     ///< Standard deviation of single arrivals, samples
  unsigned arrivals; ///< Number of clicks measured
  double level_db;   ///< Peak of the click as it arrives, dBFS; NAN if not heard
  double left_db;    ///< Power after removal relative to before, dB, from the uncertainty of the
                     ///< response; NAN before any is removed
} SrClickHeard;
SrClickHeard sr_click_remover_heard(const SrClickRemover* remover);

/// A periodic click in a recording.
typedef struct {
  size_t count;        ///< Clicks found; 0 if there are none
  double first;        ///< Sample at which the first one found begins; NAN if there are none
  double period;       ///< Samples from click to click; NAN if there are none
  unsigned bar_clicks; ///< One click in this many, counted from `first`, is accented (has another
                       ///< sound); 0 if all are alike
  const float* plain;  ///< Estimated sound of a click in any scale; owned by the finder; NULL if
                       ///< there are none
  const float* accent; ///< Estimated sound of an accented click, likewise
  size_t sound_count;  ///< Samples of each
  double lead;         ///< Samples before the click's onset in each sound
  const double* times; ///< Onsets of the clicks found one by one, in samples, `time_count` of them;
                       ///< owned by the finder
  size_t time_count;
  double searched; ///< Samples of the recording that were searched, from its first
} SrClickFound;

typedef struct SrClickFinderImpl SrClickFinder;

/**
   Look for the clicks of a metronome of any sound: one identical short sound at a constant period
   that no note explains. Foot taps do not qualify.

   @param rate_hz 16000 to 192000.
   @param finder  Receives it; NULL on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_click_finder_new(double rate_hz, SrClickFinder** finder, SrError* error);
/// Free; NULL does nothing.
void sr_click_finder_del(SrClickFinder* finder);
/// Push samples of a recording, full scale 1.
void sr_click_finder_push(SrClickFinder* finder, const float* samples, size_t count);
/// End of the recording: report what was found; its memory is needed no longer. SR_OK or
/// SR_NO_MEMORY.
SrStatus sr_click_finder_finish(SrClickFinder* finder, SrClickFound* found);

/**
   Measure a round trip by cross-correlation of a known sound with a recording of it.

   @param recorded    The recording.
   @param sound       The sound that was played.
   @param round_trip  Receives the delay in samples, interpolated (parabola through the
                      correlation's peak); NAN if the sound is not there.
   @param sureness    Receives the ratio of the peak to the next separate peak.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_round_trip_measure(const float* recorded, size_t recorded_count, const float* sound,
                               size_t sound_count, double* round_trip, double* sureness,
                               SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_CLICK_H
