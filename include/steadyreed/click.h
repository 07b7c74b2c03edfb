// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click.h
   The metronome's click in the microphone: found by matched filter, and taken out before anything
   is judged. Samples in, samples out.

   The way from the output to the microphone is looked for in the 0.6 s after each click; when it
   is found, the response of loudspeaker and room is learnt from one click and proved on the next.
   From then on each click is foretold and taken away as it comes. So the first two clicks of a
   count-in (more if they are less than a third of a second apart or hardly to be heard) stay as
   they are: nobody plays there, and nothing is ever changed before it is sure that there are
   clicks. sr_click_remover_rewind() takes them out of a recording.
*/

#ifndef STEADYREED_CLICK_H
#define STEADYREED_CLICK_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Most that sound may take from the output to the microphone and through both devices, s.
#define SR_MOST_ROUND_TRIP_S 0.6

/// What clicks are in the samples, as far as known. Arrays are copied.
typedef struct {
  double rate_hz;     ///< 16000 to 192000
  const float* plain; ///< Sound of a click, at most 60 ms; any scale, the same for both sounds
  size_t plain_count;
  const float* accent; ///< Sound of an accented click
  size_t accent_count;
  double period;       ///< Samples from click to click, at least a tenth of a second; whole if
                       ///< they leave at whole samples
  unsigned bar_clicks; ///< Every so many clicks one is accented; 0 for none
  unsigned on_bars;    ///< Bars that sound, from the first behind the count-in,
  unsigned off_bars;   ///< and bars that are silent; 0 for never
  unsigned count_in;   ///< Clicks at the start that always sound and do not count as bars
  double began;        ///< Sample at which the first one left, before its way to the microphone
} SrClickSetting;

typedef struct SrClickRemoverImpl SrClickRemover;

/**
   Make one.

   @param setting What clicks there are.
   @param remover Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_click_remover_new(const SrClickSetting* setting, SrClickRemover** remover,
                              SrError* error);
/// Free; NULL does nothing.
void sr_click_remover_del(SrClickRemover* remover);
/// By how many samples what comes out is behind what goes in; constant. At most 15 ms.
size_t sr_click_remover_delay(const SrClickRemover* remover);
/**
   Push samples and take as many out, `delay` behind (the first ones are zeros). Samples that are
   no number pass as they are. The same whatever the chunks.

   @param samples Read and written in place.
*/
void sr_click_remover_do(SrClickRemover* remover, float* samples, size_t count);

/**
   Begin again at the first sample, keeping what was learnt: for a recording that is heard a second
   time, whose first clicks are then taken out too.
*/
void sr_click_remover_rewind(SrClickRemover* remover);

/// What is known of the clicks' way.
typedef struct {
  bool heard;        ///< Whether they are in the microphone at all
  double round_trip; ///< Samples from leaving to arriving; NAN if not heard
  double spread;     ///< Standard deviation of single arrivals about it, samples
  unsigned arrivals; ///< From how many clicks
  double level_db;   ///< Peak of the click as it arrives, dBFS; NAN if not heard
  double left_db; ///< Power left after removal against before, dB, from how sure the response is;
                  ///< NAN before any is removed
} SrClickHeard;
SrClickHeard sr_click_remover_heard(const SrClickRemover* remover);

/// A click that comes again and again in a recording.
typedef struct {
  size_t count;        ///< How many were found; 0 if there are none
  double first;        ///< Sample at which the first one found begins; NAN if there are none
  double period;       ///< Samples from click to click; NAN if there are none
  unsigned bar_clicks; ///< From that one on every so manieth is accented: has another sound; 0 if
                       ///< all are alike
  const float* plain;  ///< Sound of a click, as far as it can be told, in any scale; it belongs to
                       ///< the finder; NULL if there are none
  const float* accent; ///< Sound of an accented click, likewise
  size_t sound_count;  ///< Samples of each
  double lead;         ///< Samples that a sound has before the click begins
  const double* times; ///< Samples at which those begin that were found one by one, `time_count`;
                       ///< they belong to the finder
  size_t time_count;
} SrClickFound;

typedef struct SrClickFinderImpl SrClickFinder;

/**
   Look for the clicks of a metronome, whatever it sounds like: one and the same short sound at a
   constant period, that no note explains. What a foot taps is neither.

   @param rate_hz 16000 to 192000.
   @param finder  Receives it; NULL on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_click_finder_new(double rate_hz, SrClickFinder** finder, SrError* error);
/// Free; NULL does nothing.
void sr_click_finder_del(SrClickFinder* finder);
/// Push samples of a recording, full scale 1. SR_OK or SR_NO_MEMORY.
SrStatus sr_click_finder_push(SrClickFinder* finder, const float* samples, size_t count);
/// The recording is over: tell what was found. SR_OK or SR_NO_MEMORY.
SrStatus sr_click_finder_finish(SrClickFinder* finder, SrClickFound* found);

/**
   Measure a round trip by cross-correlation: where a known sound lies in a recording of it.

   @param recorded    What came in.
   @param sound       What went out.
   @param round_trip  Receives the delay in samples, with fractions (parabolic interpolation of
                      the correlation's peak); NAN if it is not there.
   @param sureness    Receives the peak against the next one that is not beside it, a ratio.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_round_trip_measure(const float* recorded, size_t recorded_count, const float* sound,
                               size_t sound_count, double* round_trip, double* sureness,
                               SrError* error);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_CLICK_H
