// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hear.h
   The listening engine: samples in, events out.

   A take is processed twice. The calibration pass, sr_calibration_…(), learns the instrument: its
   reference pitch, each reed's own pitch and template, the room's decay and noise floor. With that
   profile the second pass, sr_hear_…(), finds the events. Live, the profile of an earlier take or
   the generic one replaces the calibration pass.

   Samples are mono, 32-bit float, full scale ±1. The events do not depend on the size of the chunks
   in which they are pushed.
*/

#ifndef STEADYREED_HEAR_H
#define STEADYREED_HEAR_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Lowest and highest sample rate, Hz.
#define SR_LOWEST_RATE_HZ 16000.0
#define SR_HIGHEST_RATE_HZ 192000.0

/// Lowest and highest MIDI note detected (G2 to C7).
#define SR_LOWEST_MIDI 43
#define SR_HIGHEST_MIDI 96

/// Kinds of event.
typedef enum {
  SR_EVENT_SOUND,   ///< One reed sounded from onset_s to end_s: a note, a cut, or one sound of a
                    ///< chord
  SR_EVENT_UNHEARD, ///< The microphone delivered nothing usable (clipping, muted, not finite)
} SrEventKind;

/**
   Something heard. Events come in order of their end and are final. A pitch that falls silent (or
   clearly falls) and sounds again makes two events; `fall_db` of the second tells how far it had
   fallen. A pitch that sounds on through a cut is one event, and the cut is another event inside
   it.
*/
typedef struct {
  SrEventKind kind;
  double onset_s;      ///< Start, s from the first sample: where it reaches a quarter of its level
  double end_s;        ///< End, s
  int midi;            ///< SR_EVENT_SOUND: MIDI note number; otherwise -1
  bool sounding;       ///< Still sounding, end not known
  double frequency_hz; ///< Measured fundamental; NAN if too short to measure
  double level_db;     ///< RMS over the steady part, dBFS (a full-scale sine is -3.01)
  double fall_db; ///< How far this pitch's own sound (without reverberation) had fallen below its
                  ///< earlier level, dB, positive, at most 60; NAN if it did not sound in the 0.4 s
                  ///< before
  double phase_kept;   ///< Phase continuity with the sound before `fall_db`: 1 if the note never
                       ///< stopped, about 0 or less after a re-attack; NAN if unknown
  double fit;          ///< 0 to 1: share of the energy at its harmonics that this reed explains
  double octave_below; ///< 0 to 1: share that the octave below explains, where that is not written
                       ///< and so counts as this pitch; near 1 the octave sounds instead of this
                       ///< pitch. 0 if the player is known to double notes in octaves
} SrEvent;

/**
   The pitch of a sound that is not the expected one. An unwritten octave below a written note
   counts as that note, since it may double it; sounding alone it is a different note.

   @param event A sound.
   @return MIDI note number: `midi`, or 12 less.
*/
int sr_event_own_midi(const SrEvent* event);

/// Critical bands.
#define SR_BANDS 24
/// Critical band edges, Hz (Zwicker 1961).
extern const double SR_BAND_EDGES_HZ[SR_BANDS + 1];
/// First and last band used for air: 0.5 to 10 kHz; a fifth of the last band.
#define SR_AIR_FIRST_BAND 5
#define SR_AIR_LAST_BAND 22

/**
   An air release: smooth broadband noise, longer than a knock, above the reeds' own noise and the
   room. Powers are mean squares, full scale 1.
*/
typedef struct {
  double start_s;            ///< Where it rises above about a third of its typical power
  double end_s;              ///< Where it falls below that
  int midi;                  ///< Lowest note sounding during it; -1 for none
  double note_power;         ///< Power of that note, or of the one before
  double hiss_power;         ///< Power of the air, 0.5 to 10 kHz
  double hiss[SR_BANDS];     ///< Power of the air in each critical band
  double noise[SR_BANDS];    ///< Power of the reeds' own noise and the room
  double tone[SR_BANDS];     ///< Power of the notes' harmonics
  double place_hz[SR_BANDS]; ///< Mean frequency of the harmonics in the band, 0 without any
  double dip_db;             ///< Largest dip of the note during it; NAN if unknown
  double bend_cents;         ///< Pitch bend of the note; negative is flat; NAN if unknown
} SrAirHeard;

/// Whether air can be detected in a recording.
typedef enum {
  SR_AIR_CARRIED,      ///< Yes, as far as is known
  SR_AIR_REWRITTEN,    ///< The inter-harmonic noise is louder than any reed makes: a speech codec
                       ///< replaced it with its own
  SR_AIR_BAND_MISSING, ///< Nothing is left of the upper half of the air's spectrum
} SrAirCarriage;

/// Everything heard in a take. The arrays belong to whoever made them.
typedef struct {
  const SrEvent* events; ///< In any order
  size_t event_count;
  const SrAirHeard* air; ///< In any order
  size_t air_count;
  SrAirCarriage air_carriage;
} SrHeard;

/// How a take can be read. A note with its octave below and a single reed with strong even
/// harmonics may sound alike; the phrase decides.
typedef enum {
  SR_READ_SINGLE,      ///< A sound is the note of its period
  SR_READ_DOUBLED,     ///< A sound is a note doubled by its octave below, whose period it has
  SR_READ_ACCOMPANIED, ///< Several reeds sound at once: a melody with accompaniment below it
} SrReading;
/// Number of readings.
#define SR_READINGS 3

/// What is known of the instrument and the room. Opaque; made by a calibration pass.
typedef struct SrProfileImpl SrProfile;

/// A generic profile: equal temperament on `reference_hz` and an average reed. NULL without memory.
SrProfile* sr_profile_new(double reference_hz);
/// A copy, or NULL without memory.
SrProfile* sr_profile_copy(const SrProfile* profile);
/// Free; NULL does nothing.
void sr_profile_del(SrProfile* profile);
/// Reading of the take it was learnt from.
SrReading sr_profile_reading(const SrProfile* profile);
/// A4 of the instrument, Hz.
double sr_profile_reference_hz(const SrProfile* profile);
/// Whether pitch `midi` itself was learnt; if so, its deviation in cents from equal temperament on
/// the reference.
bool sr_profile_reed(const SrProfile* profile, int midi, double* cents);

/**
   Copy from an earlier profile of the same instrument the reeds it knows better. Does nothing if
   the common reeds differ by more than 20 cents on average, or, without common reeds, the
   references do: then it is a different instrument.
*/
void sr_profile_complete(SrProfile* profile, const SrProfile* earlier);

/**
   A profile as JSON text, for saving; free() it. NULL without memory. The decay of the room under
   single reeds is left out, and the room as a whole gets little weight when the text is read again,
   since the next session may be in another room.
*/
char* sr_profile_text(const SrProfile* profile);
/**
   Read a profile from its JSON text.

   @param profile Receives it; NULL on error.
   @return SR_OK, SR_BAD_SYNTAX or SR_NO_MEMORY.
*/
SrStatus sr_profile_read_text(const char* text, SrProfile** profile, SrError* error);

/// Pitches in a phrase, so that with a reference far from 440 Hz notes are not mistaken for others.
typedef struct {
  unsigned char
      expected[128]; ///< For each MIDI note: 0 not written, 1 written as note, cut or chord note
  float share[128]; ///< For each MIDI note its share of the total duration of the phrase's notes, 0
                    ///< to 1; graces and chord notes have none. All 0 if unknown
  bool any;         ///< False: no phrase, treat all pitches alike
  unsigned cuts[128];    ///< For each MIDI note: bit k is set if it has a written grace k semitones
                         ///< above it, 1 to 15
  unsigned strikes[128]; ///< The same for graces below it
} SrExpected;

/// Approximate length of the calibration windows, s.
#define SR_CALIBRATION_WINDOW_S 0.070

/// The calibration pass: learns a profile from a whole take.
typedef struct SrCalibrationImpl SrCalibration;

/**
   Start a calibration pass.

   @param rate_hz  SR_LOWEST_RATE_HZ to SR_HIGHEST_RATE_HZ.
   @param expected Pitches of the phrase; NULL for free play.
   @param calibration   Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_calibration_new(double rate_hz, const SrExpected* expected, SrCalibration** calibration,
                            SrError* error);
/// Push `count` samples. Non-finite values count as silence and become SR_EVENT_UNHEARD in hearing.
void sr_calibration_push(SrCalibration* calibration, const float* samples, size_t count);
/**
   Align the windows with a sample, before anything is pushed; up to 0.28 s before the first whole
   group of windows is skipped. If the sample can be found again, such as the loudest, the same
   playing gives the same profile wherever the recording begins.

   @param sample Counted from the first sample pushed; may lie outside the recording on either side.
*/
void sr_calibration_align_to(SrCalibration* calibration, int64_t sample);
/// Time for which one steady reed was heard alone, s: the amount of training data.
double sr_calibration_heard_s(const SrCalibration* calibration);
/**
   Enable detection of what sounds alone: one harmonic series from any reed, including one that does
   not fit the instrument as known so far. Checked in windows of 70 ms, one every 35 ms.
*/
void sr_calibration_watch(SrCalibration* calibration);
/// Fundamental of the series in the last window, Hz; NAN if none sounds alone there.
double sr_calibration_alone_hz(const SrCalibration* calibration);
/// Number of windows so far.
uint64_t sr_calibration_windows(const SrCalibration* calibration);
/**
   Log-likelihood ratio of doubled against single notes for everything heard so far, nats; each note
   counts once however long it is. Negative in favour of single notes; about 0 if undecided;
   -INFINITY without a phrase. Only sounds whose period YIN finds too are counted.
*/
double sr_calibration_doubled_nats(const SrCalibration* calibration);
/**
   Finish. More samples may be pushed afterwards and the pass finished again.

   @param reading How to read the take.
   @param profile Receives a new profile (the generic one where nothing could be learnt); NULL on
                  error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_calibration_finish(SrCalibration* calibration, SrReading reading, SrProfile** profile,
                               SrError* error);
/// Free; NULL does nothing.
void sr_calibration_del(SrCalibration* calibration);

/// The engine.
typedef struct SrHearImpl SrHear;

/**
   Start listening.

   @param rate_hz  As for sr_calibration_new().
   @param profile  Copied; NULL for the generic one at 440 Hz.
   @param expected Copied; NULL for free play.
   @param hear     Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_hear_new(double rate_hz, const SrProfile* profile, const SrExpected* expected,
                     SrHear** hear, SrError* error);
/**
   Align the frames, and the windows for air, so that one is centred on a sample, like
   sr_calibration_align_to(); up to 9 ms at the beginning are skipped, up to 30 ms for air. Times
   are still counted from the first sample pushed. Call it before pushing.

   @param sample Counted from the first sample pushed; may lie before it.
*/
void sr_hear_place(SrHear* hear, int64_t sample);
/// Push `count` samples; see sr_calibration_push(). SR_NO_MEMORY if unpulled events need memory and
/// there is none.
SrStatus sr_hear_push(SrHear* hear, const float* samples, size_t count);
/// End of the take: sounding notes end here.
SrStatus sr_hear_finish(SrHear* hear);
/// Take the next event; false if there is none yet. Unheard stretches come in order of time and
/// before finished sounds; how the two interleave depends on how often this is called.
bool sr_hear_pull(SrHear* hear, SrEvent* event);
/// An unfinished sound in its current state.
typedef struct {
  SrEvent event;    ///< As if it ended now; if it is falling, where the fall began
  double seen_s;    ///< When it was first detected, s; its onset is a little earlier
  double falling_s; ///< When it began to fall, s; 0 if it is not falling
  double fallen_db; ///< How far it has fallen by now, dB
  bool doubtful;    ///< Fits its reed so poorly so far that only waiting will tell whether it is a
                    ///< sound
} SrOpenSound;

/// Most sounds at once.
#define SR_MOST_OPEN 16

/**
   Look at the sounding notes without waiting for their end. This changes no event. A note that
   comes back after a cut may be listed twice: as the sound before the cut and as the re-attack.
   Doubtful sounds are listed only for pitches of the phrase.

   @param least_seen_s Sounds detected for less than this are left out, s; 0 for none.
   @param open Receives up to `room` sounds, by pitch.
   @param room SR_MOST_OPEN is always enough.
   @return Number of sounds.
*/
size_t sr_hear_open(SrHear* hear, double least_seen_s, SrOpenSound* open, size_t room);
/// A stretch the microphone did not deliver and that is not yet an event because it may go on, as
/// an SR_EVENT_UNHEARD; false if there is none.
bool sr_hear_unheard(const SrHear* hear, SrEvent* event);
/// Time processed, s from the first sample; about 20 ms behind what was pushed.
double sr_hear_heard_s(const SrHear* hear);
/// Process each 2 ms at once instead of blocks of 8 ms; call it before pushing. Onsets are detected
/// up to 6 ms sooner, at more cost and with less data for the attack fit.
void sr_hear_at_once(SrHear* hear);
/// Do not look for air, to measure its cost; call it before pushing.
void sr_hear_without_air(SrHear* hear);
/**
   Report air later and more accurately: after about two more minutes or at the end, when each
   reed's own noise and the room's noise floor are known better. Call it before pushing.

   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_hear_air_later(SrHear* hear);
/// Take the next release of air; false if there is none yet.
bool sr_hear_pull_air(SrHear* hear, SrAirHeard* heard);
/// Whether air can be detected in the recording, judging by everything heard so far.
SrAirCarriage sr_hear_air_carriage(const SrHear* hear);
/// Free; NULL does nothing.
void sr_hear_del(SrHear* hear);

SR_END_DECLARATIONS

#endif // STEADYREED_HEAR_H
