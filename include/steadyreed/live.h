// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file live.h
   Following a phrase during practice: samples in, news out.

   The same listening engine and judge as for a recording. Unfinished notes are judged as they
   stand. When a round is over, it is judged again from its samples with the profile known by then,
   and that verdict is final.

   Whether notes are doubled an octave below, or an accompaniment sounds below the melody, is
   decided as for a recording (SrReading): doubling as soon as the pitches leave no doubt, and both
   after a round that did not come out as written. The decision holds until later playing
   contradicts it. A round that is not judged again from its samples keeps the reading it was
   followed in.

   Samples are mono, 32-bit float, full scale ±1, with any click removed. The news do not depend on
   the size of the chunks.
*/

#ifndef STEADYREED_LIVE_H
#define STEADYREED_LIVE_H

#include <steadyreed/declarations.h>
#include <steadyreed/hear.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// How to listen; fill with sr_live_settings_default().
typedef struct {
  double rate_hz;           ///< As for sr_hear_new()
  const SrProfile* profile; ///< Of this instrument, copied; NULL if unknown
  SrJudgeSettings judge;    ///< `accompanied` is set from what is heard
  double least_seen_s;      ///< A sound is accepted after being detected for this long: 0.004
  double broken_off_s;      ///< A silence longer than the longest rest of the phrase by this ends a
                            ///< round: 2.5
  int signal_midi;          ///< A note that is a signal when held alone between rounds; -1 for none
  double signal_held_s;     ///< Time the signal must be held: 2
} SrLiveSettings;

/// The settings with their defaults: 48 kHz, C3 (MIDI 48) as signal.
SrLiveSettings sr_live_settings_default(void);

/// Kinds of news.
typedef enum {
  SR_NEWS_NOTE, ///< Verdict on a note; reported again if the player goes back and plays it again.
                ///< Notes left out are reported with the round
  SR_NEWS_AMENDED, ///< A changed verdict on a note reported before
  SR_NEWS_AGAIN,   ///< The phrase was begun again; earlier reports of this round, beyond its first
                   ///< note, are void
  SR_NEWS_ROUND,   ///< A round is over and judged
  SR_NEWS_NOTHING, ///< The playing that had begun is over and was not a round
  SR_NEWS_SIGNAL,  ///< The signal note was held and released
} SrNewsKind;

/// One piece of news.
typedef struct {
  SrNewsKind kind;
  double at_s;              ///< Time in the pushed samples at which it became known, s
  unsigned round;           ///< From 1
  SrNoteVerdict note;       ///< NOTE, AMENDED: times in s from the first sample
  SrAssessment* assessment; ///< ROUND: of this round alone, times as above; free it with
                            ///< sr_assessment_del()
  double held_s;            ///< SIGNAL: how long
} SrNews;

/// Most silent stretches of the click that are kept.
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
   Push samples; the news do not depend on the chunk size. A round of up to 150 s is judged again
   from its samples when it is over; a longer one keeps the verdict from following it.

   @param samples One channel at the rate of the settings; NAN where the microphone delivered
                  nothing, which becomes `unheard`.
   @param count   Number of samples; 0 does nothing.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_live_push(SrLive* live, const float* samples, size_t count, SrError* error);
/// End of practice: a round in progress ends here. SR_OK or SR_NO_MEMORY.
SrStatus sr_live_finish(SrLive* live, SrError* error);
/// Take the next news; false if there are none.
bool sr_live_pull(SrLive* live, SrNews* news);
/**
   Judge against another click from the next look on.

   @param target_bpm Pulses a minute requested; NAN for none.
   @param click_s, click_period_s, click_pulses As in SrJudgeSettings.
*/
void sr_live_set_click(SrLive* live, double target_bpm, double click_s, double click_period_s,
                       double click_pulses);
/**
   Set when the click was or will be silent, from the next look on.

   @param silences In order; only the last SR_LIVE_SILENCES are used. Copied.
*/
void sr_live_set_silences(SrLive* live, const SrSilence* silences, size_t count);
/// Whether a round is in progress.
bool sr_live_in_round(const SrLive* live);
/// Start of the round in progress, or the time processed if there is none, s.
double sr_live_round_start_s(const SrLive* live);
/// When a note last sounded, of the phrase or any other, s; 0 if none has. Speech does not count,
/// but a sung word may.
double sr_live_last_note_s(const SrLive* live);
/// Whether the signal note is sounding alone now.
bool sr_live_signal_sounds(const SrLive* live);
/// How long the signal note has been held alone between rounds so far, s: what SR_NEWS_SIGNAL would
/// say if it were released now, if it is held for long enough; 0 if it is not held.
double sr_live_signal_held_s(const SrLive* live);
/**
   While the signal note is held, something else is played to the player, and the samples are silent
   from one time to another: a note that sounds again after that has been held all the time.

   @param until_s INFINITY as long as the end is not known; call it again then.
*/
void sr_live_signal_covered(SrLive* live, double from_s, double until_s);
/// Notes of the phrase reached in the round in progress; 0 if there is none. With one or two, it
/// may be a word or a note tried.
size_t sr_live_reached(const SrLive* live);
/// Copy of the current estimate of the instrument; NULL without memory.
SrProfile* sr_live_profile(const SrLive* live);
/// Free; NULL does nothing.
void sr_live_del(SrLive* live);

/// All pitches of a phrase, for the listening engine.
SrExpected sr_live_expected(const SrPhrase* phrase);

SR_END_DECLARATIONS

#endif // STEADYREED_LIVE_H
