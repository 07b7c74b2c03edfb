// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hear.h
   The listening engine: samples in, events out.

   A take is heard twice with the same engine. sr_survey_…() reads it first and
   learns the instrument: its reference pitch, each reed's own pitch and
   template, the room's decay and noise floor. That profile then informs
   sr_hear_…(), which finds the events. Live, the profile of an earlier take
   or the generic one takes the place of the survey.

   Samples are mono, 32-bit float, full scale ±1. They may be pushed in chunks of
   any size; the events do not depend on it.
*/

#ifndef STEADYREED_HEAR_H
#define STEADYREED_HEAR_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Lowest and highest sample rate, Hz.
#define SR_LOWEST_RATE_HZ 16000.0
#define SR_HIGHEST_RATE_HZ 192000.0

/// Lowest and highest MIDI note that is listened for (G2 to C7).
#define SR_LOWEST_MIDI 43
#define SR_HIGHEST_MIDI 96

/// Kinds of event.
typedef enum {
  SR_EVENT_SOUND,   ///< One reed sounded from onset_s to end_s: a note, a cut, or one sound of a
                    ///< chord
  SR_EVENT_UNHEARD, ///< The microphone delivered nothing usable (clipping, muted, not finite)
} SrEventKind;

/**
   Something heard. Events come in order of their end, so that nothing about
   them is still open.

   A pitch that falls silent (or clearly falls) and sounds again makes two
   events; `fall_db` of the second tells how far it had fallen. A pitch that
   sounds on through a cut is one event, and the cut is another event that
   lies inside it.
*/
typedef struct {
  SrEventKind kind;
  double onset_s;      ///< Start, s from the first sample: where it passes a quarter of its level
  double end_s;        ///< End, s
  int midi;            ///< SR_EVENT_SOUND: MIDI note number; else -1
  bool sounding;       ///< It is not over, and its end not known
  double frequency_hz; ///< Its measured fundamental; NAN if too short to measure
  double level_db;     ///< Its RMS over its steady part, dBFS (a full-scale sine is -3.01)
  double fall_db;      ///< How far this pitch's own sound (the room's tail taken off) had
                       ///< fallen below its level before, dB, positive; NAN if it did not
                       ///< sound in the 0.4 s before. At most 60.
  double phase_kept; ///< Whether this pitch sounds on in the phase it had before `fall_db`: 1 as if
                     ///< it had never let go, about 0 or less if it spoke again; NAN if not known
  double fit;        ///< 0 to 1: how much of the sound at its harmonics this reed explains
  double octave_below; ///< 0 to 1: share of it that the octave below explains, which is not written
                       ///< and so counts as this pitch: near 1 that octave sounds and not this one.
                       ///< 0 where it is known that the player doubles notes in octaves
} SrEvent;

/**
   The pitch of a sound that is not the one expected: an octave below a written note, itself not
   written, counts as that note, since it may double it; sounding alone it is another note.

   @param event A sound.
   @return MIDI note number: `midi`, or 12 less.
*/
int sr_event_own_midi(const SrEvent* event);

/// Critical bands.
#define SR_BANDS 24
/// Their edges, Hz (Zwicker 1961).
extern const double SR_BAND_EDGES_HZ[SR_BANDS + 1];
/// The first and the last band in which air is told: 0.5 to 10 kHz, of the last a fifth.
#define SR_AIR_FIRST_BAND 5
#define SR_AIR_LAST_BAND 22

/**
   A release of air that was heard: smooth broad noise, longer than a knock, over what
   the reeds and the room make by themselves. Powers are mean squares, full scale 1.
*/
typedef struct {
  double start_s;            ///< Where it rises over about a third of its usual power
  double end_s;              ///< Where it falls under that
  int midi;                  ///< The lowest note sounding meanwhile; -1 for none
  double note_power;         ///< Of that note, or of the one before
  double hiss_power;         ///< Of the air, 0.5 to 10 kHz
  double hiss[SR_BANDS];     ///< Of the air in each critical band
  double noise[SR_BANDS];    ///< Of the reeds' own noise and the room
  double tone[SR_BANDS];     ///< Of the notes' harmonics
  double place_hz[SR_BANDS]; ///< Their mean frequency in the band, 0 without any
  double dip_db;             ///< How far the note fell meanwhile, at most; NAN if not known
  double bend_cents;         ///< How far its pitch bent; negative is flat; NAN if not known
} SrAirHeard;

/// Whether a recording lets air be told.
typedef enum {
  SR_AIR_CARRIED,      ///< It does, as far as is known
  SR_AIR_REWRITTEN,    ///< What lies between the harmonics is louder than any reed makes: whoever
                       ///< coded it for voices wrote noise of its own there
  SR_AIR_BAND_MISSING, ///< Nothing is left of the upper half of what air sounds like
} SrAirCarriage;

/// All that was heard in a take. Its arrays belong to who made them.
typedef struct {
  const SrEvent* events; ///< In any order
  size_t event_count;
  const SrAirHeard* air; ///< In any order
  size_t air_count;
  SrAirCarriage air_carriage;
} SrHeard;

/// The ways in which what was heard can be read. Which is right, the phrase tells: a note with its
/// octave below and a single reed with strong even harmonics may sound alike.
typedef enum {
  SR_READ_SINGLE,      ///< A sound is the note of its period
  SR_READ_DOUBLED,     ///< A sound is a note with its octave below, whose period it has
  SR_READ_ACCOMPANIED, ///< Several reeds sound at once: a melody with others below it
} SrReading;
/// Readings there are.
#define SR_READINGS 3

/// What is known of the instrument and the room. Opaque; make one by a survey.
typedef struct SrProfileImpl SrProfile;

/// A generic profile: equal temperament on `reference_hz` and an average reed. NULL without memory.
SrProfile* sr_profile_new(double reference_hz);
/// A copy, or NULL without memory.
SrProfile* sr_profile_copy(const SrProfile* profile);
/// Free; NULL does nothing.
void sr_profile_del(SrProfile* profile);
/// How the take is read from which it was learnt.
SrReading sr_profile_reading(const SrProfile* profile);
/// A4 of the instrument, Hz.
double sr_profile_reference_hz(const SrProfile* profile);
/// Whether pitch `midi` itself was learnt, and its deviation in cents from equal temperament on the
/// reference.
bool sr_profile_reed(const SrProfile* profile, int midi, double* cents);

/**
   Take over from an earlier profile of the same instrument the reeds that it knows better.
   Nothing is done if the reeds that both know are more than 20 cents apart on the mean, or their
   references if there are none such: then it is another instrument.
*/
void sr_profile_complete(SrProfile* profile, const SrProfile* earlier);

/**
   A profile as JSON text, to be kept; free() it. NULL without memory.

   How the room dies away under each single reed is left out, and what is known of the room as a
   whole counts for little when it is read again: the next evening may be in another one.
*/
char* sr_profile_text(const SrProfile* profile);
/**
   Read it again.

   @param profile Receives it; NULL on error.
   @return SR_OK, SR_BAD_SYNTAX or SR_NO_MEMORY.
*/
SrStatus sr_profile_read_text(const char* text, SrProfile** profile, SrError* error);

/// Which pitches a phrase has, so that a reference far from 440 Hz is not taken for other notes.
typedef struct {
  unsigned char
      expected[128]; ///< For each MIDI note: 0 not written, 1 written as note, cut or chord sound
  float share[128]; ///< For each MIDI note its share of the time that the phrase's notes last, 0 to
                    ///< 1; graces and chord sounds have none. All 0 if that is not known
  bool any;         ///< False: no phrase, listen to everything alike
  unsigned cuts[128];    ///< For each MIDI note: bit k is set if it is written with a grace k
                         ///< semitones above it, 1 to 15
  unsigned strikes[128]; ///< The same for graces below it
} SrExpected;

/// A survey looks through windows of about this length, s.
#define SR_SURVEY_WINDOW_S 0.070

/// Learns a profile from a whole take.
typedef struct SrSurveyImpl SrSurvey;

/**
   Start a survey.

   @param rate_hz  SR_LOWEST_RATE_HZ to SR_HIGHEST_RATE_HZ.
   @param expected What the phrase has; NULL for free play.
   @param survey   Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_survey_new(double rate_hz, const SrExpected* expected, SrSurvey** survey,
                       SrError* error);
/// Push `count` samples. Values that are not finite count as silence and become SR_EVENT_UNHEARD in
/// hearing.
void sr_survey_push(SrSurvey* survey, const float* samples, size_t count);
/**
   Lay the windows so that one begins at a sample, before anything is pushed: what lies before the
   first whole step of them, 0.28 s at most, is left out. The same playing is then learnt from alike
   wherever the recording begins, if the sample is one that can be found again, such as the loudest.

   @param sample From the first one pushed; it may lie before that, or behind the last one.
*/
void sr_survey_place(SrSurvey* survey, int64_t sample);
/// How long one steady reed was heard alone, s: what there is to learn from.
double sr_survey_heard_s(const SrSurvey* survey);
/**
   What sounds alone by now: one harmonic series, whatever reed it may be, also one that does not
   fit the instrument as far as that is known. Looked for in each window of 70 ms, one every 35 ms,
   once this is set.
*/
void sr_survey_watch(SrSurvey* survey);
/// Its fundamental in the last window, Hz; NAN if none sounds alone there.
double sr_survey_alone_hz(const SrSurvey* survey);
/// Windows so far.
uint64_t sr_survey_windows(const SrSurvey* survey);
/**
   How much more what was heard so far is likely if notes are doubled than if they are not: the
   difference of the log-likelihoods of its pitches, nats, a note counting once however long.
   Negative where it speaks for single notes; about 0 where it cannot tell; -INFINITY without a
   phrase. Only what has a period that YIN hears as well counts.
*/
double sr_survey_doubled_nats(const SrSurvey* survey);
/**
   Finish. More may be pushed behind, and it be finished again.

   @param reading How the take is to be read.
   @param profile Receives a new profile (the generic one where nothing could be learnt); NULL on
                  error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_survey_finish(SrSurvey* survey, SrReading reading, SrProfile** profile, SrError* error);
/// Free; NULL does nothing.
void sr_survey_del(SrSurvey* survey);

/// The engine.
typedef struct SrHearImpl SrHear;

/**
   Start listening.

   @param rate_hz  As for sr_survey_new().
   @param profile  Copied; NULL for the generic one at 440 Hz.
   @param expected Copied; NULL for free play.
   @param hear     Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_hear_new(double rate_hz, const SrProfile* profile, const SrExpected* expected,
                     SrHear** hear, SrError* error);
/**
   Lay the frames so that one is centred on a sample, and the windows in which air is heard about it
   too, as sr_survey_place() does; up to 9 ms at the beginning are left out, and up to 30 ms for
   air. Times are still those from the first sample pushed.

   @param sample Counted from the first sample pushed; it may lie before it. To be told before any
                 is pushed.
*/
void sr_hear_place(SrHear* hear, int64_t sample);
/// Push `count` samples; see sr_survey_push(). SR_NO_MEMORY if events pile up unpulled and there is
/// no room.
SrStatus sr_hear_push(SrHear* hear, const float* samples, size_t count);
/// The take is over: what still sounds ends here.
SrStatus sr_hear_finish(SrHear* hear);
/// Take the next event; false if there is none yet. Stretches that were not heard come in order of
/// time, and before sounds that are ready; how the two are mixed depends on how often this is
/// asked.
bool sr_hear_pull(SrHear* hear, SrEvent* event);
/// A sound that is not over, as it looks now.
typedef struct {
  SrEvent event;    ///< As it would be told if it ended now; if it falls, where it began to
  double seen_s;    ///< Since when it has been noticed, s; its onset lies a little before
  double falling_s; ///< Since when it has been falling, s; 0 if it is not
  double fallen_db; ///< How far it has fallen by now, dB
  bool doubtful;    ///< It fits its reed so little yet that it is one only if it is waited for
} SrOpenSound;

/// Most sounds at once.
#define SR_MOST_OPEN 16

/**
   Look at what sounds now, for who cannot wait for its end. Looking changes no event.

   A note that comes back from under its cut may be told twice: as the sound that went on until the
   cut, and as the one that has spoken again. What is doubtful is told only of pitches of the
   phrase.

   @param least_seen_s Sounds noticed for less than this are left out, s; 0 for none.
   @param open Receives up to `room` sounds, in the order of their pitches.
   @param room SR_MOST_OPEN is always enough.
   @return How many.
*/
size_t sr_hear_open(SrHear* hear, double least_seen_s, SrOpenSound* open, size_t room);
/// What the microphone did not deliver and is no event yet, since more of it may follow, as an
/// SR_EVENT_UNHEARD; false if there is none.
bool sr_hear_unheard(const SrHear* hear, SrEvent* event);
/// How far has been listened, s from the first sample; some 20 ms behind what was pushed.
double sr_hear_heard_s(const SrHear* hear);
/// Look at every 2 ms as they come instead of at 8 ms together, before anything is pushed: what
/// starts is noticed up to 6 ms sooner, for more work and with less hindsight.
void sr_hear_at_once(SrHear* hear);
/// Do not look for air, before anything is pushed: its cost can be told that way.
void sr_hear_without_air(SrHear* hear);
/**
   Tell air later and better, before anything is pushed: when some two minutes more have been
   heard, or all, and with it how noisy each reed is by itself and where the room's floor goes.

   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_hear_air_later(SrHear* hear);
/// Take the next release of air; false if there is none yet.
bool sr_hear_pull_air(SrHear* hear, SrAirHeard* heard);
/// Whether the recording lets air be told, by all that has been heard.
SrAirCarriage sr_hear_air_carriage(const SrHear* hear);
/// Free; NULL does nothing.
void sr_hear_del(SrHear* hear);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_HEAR_H
