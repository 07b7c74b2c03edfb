// SPDX-License-Identifier: GPL-3.0-or-later

// State of a session. Everything except the queues belongs to the session's own thread while it
// runs.

#ifndef SR_SESSION_SESSION_STATE_H
#define SR_SESSION_SESSION_STATE_H

#include "between_rounds.h"
#include "event_queue.h"
#include "hear/fine_pitch.h"
#include "kept_sound.h"
#include "ready_note.h"

#include <steadyreed/click.h>
#include <steadyreed/losses.h>
#include <steadyreed/recording.h>
#include <steadyreed/session.h>
#include <steadyreed/sound.h>
#include <steadyreed/take_note.h>

#include <pthread.h>

/// Samples read from the stream at once.
#define SR_SESSION_CHUNK 1024u
/// Maximum length of a click's sound, samples.
#define SR_CLICK_SAMPLES 12000u
/// Most pending commands; further ones are dropped.
#define SR_MOST_COMMANDS 16u
/// A signal held longer than this ends the session, s.
#define SR_SIGNAL_END_S 4.0

/// The click: as requested, as sent, and as heard.
typedef struct {
  float sound[2][SR_CLICK_SAMPLES]; ///< Plain, accented
  size_t sound_count[2];
  double bpm;
  double pulses;  ///< Pulses from click to click
  double period;  ///< Samples from click to click
  bool off;       ///< Not wanted by the front end
  bool running;   ///< Sent to the stream
  bool began;     ///< The first click has been output
  uint64_t frame; ///< Frame of that click
  unsigned count_in;
  unsigned counted;          ///< Clicks of the count-in that were reported
  unsigned silences_counted; ///< Silences of this click reported so far
  bool tempo_changed;        ///< Tempo changed since the session began
  bool moved;                ///< Restarted at another frame
  double round_trip_s;       ///< Last measured value; NAN if never measured
  SrLosses silences;         ///< Silent stretches of the click
  SrClickRemover* remover; ///< Removes the click from the input; NULL while there is none to remove
} SrClickTrack;

/// Time of a round, s.
typedef struct {
  double start_s;
  double end_s;
} SrPlayedRound;

/// The take being written.
typedef struct {
  SrRecording* recording; ///< NULL if there is none
  char* path;
  char note[SR_TAKE_NOTE_SIZE]; ///< As last written to the file
  double note_s;                ///< Time of the last update
  SrPlayedRound* rounds;        ///< And an unfinished one at the end
  size_t round_count;
  bool forgot_round; ///< A round could not be stored for lack of memory
} SrTake;

/// Level since the last report.
typedef struct {
  float peak;
  double energy;
  uint64_t samples;
  unsigned full; ///< Consecutive samples at full scale up to now
  bool overdriven;
  double reported_s;
} SrLevel;

/// What is played to the player.
typedef struct {
  bool active;
  SrPlayingKind kind;
  SrSound* sound; ///< The phrase; NULL once all of it is queued
  float* samples; ///< Those given; NULL once all of them are queued
  size_t count;
  size_t at;
} SrPlaying;

/// The wait before a count-in.
typedef struct {
  bool waits;
  bool shown;          ///< The front end was told so,
  double shown_left_s; ///< with this number of whole seconds left; NAN without a delay
  double since_s;      ///< When it began
  double over_s;       ///< When the last one was over
  double round_end_s;  ///< End of the last round
  SrReadyNote ready;
  double ready_s; ///< Onset of the ready note that was given; NAN if none
} SrWait;

/// The low note while it is held.
typedef struct {
  bool shown;           ///< The front end was told
  double shown_s;       ///< … at this time
  unsigned tones;       ///< Tones that said it has been held long enough, 0 to 2
  size_t tone_count;    ///< Samples of the last one
  uint64_t muted_from;  ///< The input is ignored from this sample,
  uint64_t muted_until; ///< to this one, while a tone sounds; UINT64_MAX until its end is known
} SrHeldSignal;

/// Number of values in a median.
#define SR_TUNER_POINTS 3u

/// The tuner.
typedef struct {
  SrFinePitch* fine;
  double began_s;             ///< When this note began; NAN without one
  double rough_hz;            ///< Last point of the pitch track
  double hz[SR_TUNER_POINTS]; ///< Last values of this note
  size_t count;
  double next_s; ///< Time of the next event
} SrTuner;

/// What the front end asked for.
typedef struct {
  SrCommand command;
  float* samples; ///< To be played; NULL for the command alone
  size_t count;
} SrRequest;

struct SrSessionImpl {
  const SrPhrase* phrase;
  SrSessionSettings settings;
  SrSetup setup; ///< Without its profile
  SrStream* stream;
  char input[SR_DEVICE_NAME_SIZE]; ///< Names of the session's devices
  char output[SR_DEVICE_NAME_SIZE];
  double rate_hz;
  SrLive* live;
  SrFree* listener; ///< Used without a phrase
  uint64_t read;    ///< Samples from the stream
  SrLosses losses;  ///< Lost stretches of these
  SrClickTrack click;
  SrTake take;
  SrLevel level;
  SrBetween between;
  SrPlaying playing;
  SrWait wait;
  SrHeldSignal held;
  SrPitchTrack* track; ///< For the ready note, or the tuner; NULL for neither
  SrTuner tuner;
  double reference_hz; ///< A4 of the profile given; 440 without one
  SrKeptSound* sound;  ///< NULL without a phrase
  double deaf_until_s;
  double signal_s;      ///< Time of the last signal; NAN if it was answered
  size_t signal_rounds; ///< Rounds played at that time
  size_t rounds;
  double last_note_s; ///< Without a phrase: when a reed last sounded
  bool any_note;
  uint64_t overruns; ///< Last count reported
  bool over;
  unsigned broken_off; ///< At the end: notes reached in the round that it breaks off; else 0
  double broken_off_s; ///< When that began
  SrEndReason reason;
  bool out_of_memory; ///< An event could not be reported
  SrStatus trouble;
  SrError error;

  SrEventQueue events;
  pthread_mutex_t command_lock;
  SrRequest requests[SR_MOST_COMMANDS];
  size_t request_count;
  pthread_t thread;
  bool started;
  bool ended; ///< SR_SESSION_END was taken
};

/// Session time: seconds of input samples.
double sr_session_now_s(const SrSession* session);
/// Practically silence: one step at 24 bits. Exact zeros would look like a dead microphone.
void sr_session_silence(float* samples, size_t count);
/// Report an event; sets its time.
void sr_session_report(SrSession* session, SrSessionEvent event);
/// End the session for a reason, unless it has ended already.
void sr_session_end(SrSession* session, SrEndReason reason);

// click_track.c

/// Whether a tempo, pulses a minute, is in the click's range.
bool sr_click_tempo_fits(double bpm);
/// Render the sounds of the click.
void sr_click_prepare(SrSession* session);
/**
   Start clicking. May fail while too many stopped clicks still sound; it is then tried again later.
*/
void sr_click_start(SrSession* session);
/// Stop the click and its removal.
void sr_click_stop(SrSession* session);
/// Stop it for long: what is played meanwhile is judged by its own tempo.
void sr_click_pause(SrSession* session);
/// Change the tempo, with a count-in if there is a click.
void sr_click_change_tempo(SrSession* session, double bpm);
/// Change the volume of click and tones.
void sr_click_set_volume(SrSession* session, double volume);
/// No click from now on, or one again.
void sr_click_turn(SrSession* session, bool on);
/// Once the first click has been output: start removing the click from the input.
SrStatus sr_click_begin_removing(SrSession* session);
/// When the player heard the first click, s; NAN if unknown.
double sr_click_heard_s(const SrSession* session);
/// Report the count-in, and pass what is known of the click to the judge.
void sr_click_follow(SrSession* session);

// low_note.c

/// What a low note means if it is released after `held_s`; it began at `began_s`.
SrSignalMeaning sr_low_note_meaning(const SrSession* session, double began_s, double held_s);
/// Handle a held low note.
void sr_low_note_take(SrSession* session, const SrNews* news);
/// Act on it once it is clear that no second one follows.
void sr_low_note_answer(SrSession* session);

// held_signal.c

/// Report the low note while it is held, and begin the tones that acknowledge it.
void sr_held_signal_follow(SrSession* session);
/// Silence the part of the next samples, from `read` on, in which such a tone sounds.
void sr_held_signal_silence(const SrSession* session, float* samples, size_t count);
/// Whether such a tone sounds.
bool sr_held_signal_tone_sounds(const SrSession* session);

// playing.c

/// Begin to play the phrase to the player.
void sr_playing_phrase(SrSession* session);
/// Begin to play samples, which then belong to the session.
void sr_playing_samples(SrSession* session, float* samples, size_t count);
/// Stop what is played.
void sr_playing_stop(SrSession* session);
/// Queue more of it while there is room, and notice its end.
void sr_playing_feed(SrSession* session);

// count_in.c

/// Begin to wait, if the click is to.
void sr_wait_begin(SrSession* session);
/// Listen for the ready note.
void sr_wait_listen(SrSession* session, const float* samples, size_t count);
/// A round ended at a time: the click may stop and wait again.
void sr_wait_round(SrSession* session, double end_s);
/// End the wait when there is reason to, and report it.
void sr_wait_follow(SrSession* session);
/// Whether the count-in will begin by itself.
bool sr_wait_is_delay(const SrSession* session);
/// Count in now.
void sr_wait_skip(SrSession* session);

// tuner.c

/// Listen for the pitch and report it.
void sr_tuner_listen(SrSession* session, const float* samples, size_t count);

// between_rounds.c

/// Allocate what hushes need; false without memory.
bool sr_between_begin(SrSession* session);
void sr_between_clear(SrSession* session);
/// The front end wants to sound, or no longer does.
void sr_between_ask(SrSession* session);
void sr_between_end(SrSession* session);
/// A round is over: begin its tone, if tones are asked for and the player does not play on.
void sr_between_round(SrSession* session, const SrRound* round);
/// A count-in or the phrase begins: what sounds must stop.
void sr_between_break(SrSession* session);
/// Answer the front end, and end what is over.
void sr_between_follow(SrSession* session);
/**
   Take input from the stream. In a hush it is held back for half a second, so that what is played
   can still be heard from its beginning once that is noticed.

   @param samples Receives up to SR_SESSION_CHUNK samples.
   @return Number of samples; 0 if there are none now.
*/
size_t sr_between_read(SrSession* session, float* samples);
/// Silence the part of the next samples, from `read` on, that belongs to a hush.
void sr_between_silence(const SrSession* session, float* samples, size_t count);
/// Whether a tone sounds or is to.
bool sr_between_tone_sounds(const SrSession* session);

// keeping.c

/// Begin the take.
SrStatus sr_keeping_begin(SrSession* session);
/// Store when a round was played.
void sr_keeping_round(SrSession* session, const SrRound* round);
/// Store when an unfinished round was played.
void sr_keeping_unfinished(SrSession* session, double start_s, double end_s);
/// Update the take's note to its final form so far, in case the session is interrupted.
void sr_keeping_renew_note(SrSession* session);
/// Whether the take will be kept.
bool sr_keeping_stays(const SrSession* session);
/// Finish the take, cut it to its rounds, and report the result.
void sr_keeping_finish(SrSession* session);

// session_loop.c

/// One iteration: read the available input, report what is new.
SrStatus sr_listening_turn(SrSession* session);
/// End all sounding notes and report the rest.
void sr_listening_finish(SrSession* session);

#endif // SR_SESSION_SESSION_STATE_H
