// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file live.h
   A phrase being practised: samples in, news out. The same ear and the same judge as for a
   recording; what is not over yet is judged as it stands, and each round again, from its samples,
   with what is known of the instrument towards its end. That verdict stands.

   Whether notes are doubled an octave below, or others sound below the melody, is found out as for
   a recording (SrReading): the first as soon as the pitches leave no doubt, both when a round is
   over that did not come out as written. It then holds for what follows until that speaks against
   it. A round that is not heard again from its samples is judged in the reading it was followed in.

   Samples are mono, 32-bit float, full scale ±1, without any click in them. The news do not depend
   on how they are cut into chunks.
*/

#ifndef STEADYREED_LIVE_H
#define STEADYREED_LIVE_H

#include <steadyreed/hear.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/// How to listen; fill with sr_live_settings_default().
typedef struct {
  double rate_hz;           ///< As for sr_hear_new()
  const SrProfile* profile; ///< Of this instrument, copied; NULL if it is not known yet
  SrJudgeSettings judge;    ///< Its `accompanied` is set by what is heard
  double least_seen_s;      ///< A sound is believed once it has been noticed for so long: 0.004
  double
      broken_off_s; ///< So long a silence, over the longest rest of the phrase, ends a round: 2.5
  int signal_midi;  ///< A note that, held alone between rounds, is a signal; -1 for none
  double signal_held_s; ///< … for at least so long: 2
} SrLiveSettings;

/// The settings with their defaults: 48 kHz, C3 (MIDI 48) as signal.
SrLiveSettings sr_live_settings_default(void);

/// What there is to tell.
typedef enum {
  SR_NEWS_NOTE,    ///< How a note came out; reported again if it is played again, since the player
                   ///< went back. What is left out is told with the round
  SR_NEWS_AMENDED, ///< A note told before came out otherwise after all
  SR_NEWS_AGAIN,   ///< The phrase was begun again; what was told of this round, more than its first
                   ///< note, is void
  SR_NEWS_ROUND,   ///< A round is over and judged
  SR_NEWS_NOTHING, ///< What was begun is over, and was no round
  SR_NEWS_SIGNAL,  ///< The signal note was held, and let go
} SrNewsKind;

/// One piece of news.
typedef struct {
  SrNewsKind kind;
  double at_s;              ///< Of the samples pushed, how many seconds it took to know it
  unsigned round;           ///< From 1
  SrNoteVerdict note;       ///< NOTE, AMENDED: times in s from the first sample
  SrAssessment* assessment; ///< ROUND: of this round alone, times as above; free it with
                            ///< sr_assessment_del()
  double held_s;            ///< SIGNAL: how long
} SrNews;

/// Most silent stretches of the click that are remembered.
#define SR_LIVE_SILENCES 64

typedef struct SrLiveImpl SrLive;

/**
   Start listening to a phrase.

   @param phrase   Must outlive it.
   @param settings NULL for the defaults.
   @param live     Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_live_new(const SrPhrase* phrase, const SrLiveSettings* settings, SrLive** live,
                     SrError* error);
/**
   Push samples; any number of them gives the same news.

   A round of up to 150 s is judged again from its samples when it is over, a longer one as it was
   followed.

   @param samples One channel at the rate of the settings; NAN where the microphone delivered
                  nothing, which becomes `unheard`.
   @param count   How many; 0 does nothing.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_live_push(SrLive* live, const float* samples, size_t count, SrError* error);
/// Practice is over: a round that goes on ends here. SR_OK or SR_NO_MEMORY.
SrStatus sr_live_finish(SrLive* live, SrError* error);
/// Take the next news; false if there are none.
bool sr_live_pull(SrLive* live, SrNews* news);
/**
   From the next look on, judge against another click.

   @param target_bpm Pulses a minute asked for; NAN for none.
   @param click_s, click_period_s, click_pulses As in SrJudgeSettings.
*/
void sr_live_set_click(SrLive* live, double target_bpm, double click_s, double click_period_s,
                       double click_pulses);
/**
   From the next look on, the click was or will be silent then.

   @param silences In order; of more than SR_LIVE_SILENCES the last ones count. Copied.
*/
void sr_live_set_silences(SrLive* live, const SrSilence* silences, size_t count);
/// Whether a round has begun and is not over.
bool sr_live_in_round(const SrLive* live);
/// Where the round that goes on began, or how far has been listened if none does, s.
double sr_live_round_start_s(const SrLive* live);
/// When a note sounded last, of the phrase or any other, s; 0 if none has. Talk is none, but a word
/// that is sung may be.
double sr_live_last_note_s(const SrLive* live);
/// Whether the signal note sounds alone now.
bool sr_live_signal_sounds(const SrLive* live);
/// What is known of the instrument by now: a copy, or NULL without memory.
SrProfile* sr_live_profile(const SrLive* live);
/// Free; NULL does nothing.
void sr_live_del(SrLive* live);

/// All pitches of a phrase, so that the ear knows where its reeds are.
SrExpected sr_live_expected(const SrPhrase* phrase);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_LIVE_H
